"""Every relation there is, by name."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from grader.circuits import main, power, principles, pump
from grader.relations.relation import Relation

MODULES = (principles, main, power, pump)


@cache
def relations() -> Mapping[str, Relation]:
    """
    Every relation of the circuits by its name, in the order of the lessons.

    >>> relations()["open_area"].formula
    'A = pi/4 * (D**2 - d**2)'
    """
    found: dict[str, Relation] = {}
    for module in MODULES:
        for name, value in vars(module).items():
            if isinstance(value, Relation) and value.name not in found:
                if name != value.name:
                    raise AssertionError(f"{module.__name__}.{name} calls itself {value.name!r}; give both one name")
                found[value.name] = value
    return MappingProxyType(found)
