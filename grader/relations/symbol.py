"""One symbol of a relation, and how it is printed."""

from __future__ import annotations

from dataclasses import dataclass

from grader.base.quantities import Unit, show_number, with_unit
from grader.relations import typeset


@dataclass(frozen=True)
class Symbol:
    """One symbol of a relation: `name`, the `unit` it is usually given in, what it `says`, its `default` in SI or None."""

    name: str
    unit: Unit
    says: str
    default: float | None = None

    def __str__(self) -> str:
        return self.name

    def mathml(self) -> str:
        """It as a `<math>` element."""
        return typeset.mathml(("name", self.name))

    def typst(self) -> str:
        """It as Typst math."""
        return typeset.typst(("name", self.name))

    def text(self) -> str:
        """It as plain text."""
        return typeset.plain(("name", self.name))

    def shown(self, value: float, figures: int = 5) -> str:
        """A value of it, SI, as printed in its unit."""
        return with_unit(show_number(self.unit.from_si(value), figures), self.unit)


def capital(text: str) -> str:
    """
    A sentence's beginning.

    >>> capital("area of the jet")
    'Area of the jet'
    """
    return text[:1].upper() + text[1:]
