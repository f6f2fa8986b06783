"""Every relation there is, by name."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType, ModuleType

from grader.circuits import (
    choke,
    diagnosis,
    electric,
    friction,
    idle,
    main,
    measuring,
    passages,
    power,
    principles,
    pump,
    safety,
    springs,
)
from grader.circuits import float as float_circuit
from grader.relations.relation import Relation

CIRCUITS: Mapping[str, tuple[ModuleType, ...]] = MappingProxyType(
    {
        "principles": (principles, passages, friction),
        "safety": (safety,),
        "measuring": (measuring,),
        "float": (float_circuit,),
        "idle": (idle,),
        "main": (main,),
        "power": (power, springs),
        "pump": (pump,),
        "choke": (choke, electric),
        "diagnosis": (diagnosis,),
    }
)
"""Where each circuit's relations are stated."""


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
    ['principles', 'safety', 'measuring', 'float', 'idle', 'main', 'power', 'pump', 'choke', 'diagnosis']
    """
    found: dict[str, tuple[Relation, ...]] = {}
    taken: set[str] = set()
    for circuit, modules in CIRCUITS.items():
        found[circuit] = ()
        for module in modules:
            stated = {name: one for name, one in vars(module).items() if isinstance(one, Relation) and one.name not in taken}
            for name, one in stated.items():
                if name != one.name:
                    raise AssertionError(f"{module.__name__}.{name} calls itself {one.name!r}; give both one name")
            taken |= set(stated)
            found[circuit] += tuple(stated.values())
    return MappingProxyType(found)
