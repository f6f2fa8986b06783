"""Every relation there is, by name."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from grader.circuits import choke, diagnosis, idle, main, power, principles, pump, safety
from grader.circuits import float as float_circuit
from grader.relations.relation import Relation

MODULES = (principles, safety, float_circuit, idle, main, power, pump, choke, diagnosis)


@cache
def relations() -> Mapping[str, Relation]:
    """
    Every relation of the circuits by its name, in the order of the lessons.

    >>> relations()["open_area"].formula
    'A = pi/4 * (D**2 - d**2)'
    """
    return MappingProxyType({relation.name: relation for group in by_circuit().values() for relation in group})


@cache
def by_circuit() -> Mapping[str, tuple[Relation, ...]]:
    """
    The relations that each circuit states, in the order in which it states them.

    >>> list(by_circuit())
    ['principles', 'safety', 'float', 'idle', 'main', 'power', 'pump', 'choke', 'diagnosis']
    """
    found: dict[str, tuple[Relation, ...]] = {}
    taken: set[str] = set()
    for module in MODULES:
        stated = {name: value for name, value in vars(module).items() if isinstance(value, Relation) and value.name not in taken}
        for name, value in stated.items():
            if name != value.name:
                raise AssertionError(f"{module.__name__}.{name} calls itself {value.name!r}; give both one name")
        taken |= set(stated)
        found[module.__name__.rpartition(".")[2]] = tuple(stated.values())
    return MappingProxyType(found)
