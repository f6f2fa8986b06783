"""Numbered drills, by which small jets and bleeds are called: a number to a bore in inches."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

# No. 80 first, No. 1 last. The series follows no formula.
# Source: three public lists, the same in all 80 entries; the standard (ASME B94.11M) not seen.
_INCHES = """
.0135 .0145 .016 .018 .020 .021 .0225 .024 .025 .026 .028 .0292 .031 .032 .033 .035 .036 .037 .038 .039 .040
.041 .042 .043 .0465 .052 .055 .0595 .0635 .067 .070 .073 .076 .0785 .081 .082 .086 .089 .0935 .096
.098 .0995 .1015 .104 .1065 .110 .111 .113 .116 .120 .1285 .136 .1405 .144 .147 .1495 .152 .154 .157 .159 .161 .166 .1695 .173
.177 .180 .182 .185 .189 .191 .1935 .196 .199 .201 .204 .2055 .209 .213 .221 .228
"""

DRILL_INCHES: Mapping[int, str] = MappingProxyType({80 - place: f"0{inches}" for place, inches in enumerate(_INCHES.split())})
"""Number to bore in inches, as the list prints it."""
