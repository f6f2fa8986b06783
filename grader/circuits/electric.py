"""Wire and windings: the resistance of the lead to a choke heater or a solenoid, and of a copper winding as it warms."""

from __future__ import annotations

from grader.relations.relation import relation

wire_diameter = relation(
    "d = d_0 * 92**((36 - n) / 39)",
    name="wire_diameter",
    d=("mm", "diameter of a wire by its gauge number"),
    n=("1", "gauge number (American wire gauge); a larger number is a thinner wire"),
    d_0=("in", "diameter of number 36", 0.005),
    valid="0 <= n <= 40 and 0 < d_0",
    example="d(n=18) = 1.0237",
    source="definition of the gauge: number 36 is 0.005 in, number 0000 is 0.46 in, equal ratios between; from memory",
)

wire_resistance = relation(
    "R = 4 * rho * l / (pi * d**2)",
    name="wire_resistance",
    R=("ohm", "resistance of a wire"),
    l=("ft", "its length; there and back where it goes both ways"),
    d=("mm", "its diameter"),
    rho=("ohm*mm^2/m", "resistivity; annealed copper at 20 °C where none is given", 0.017241),
    valid="0 <= l and 0 < d and 0 < rho",
    example="R(l=1000, d=1.0237) = 6.385",
    source="Ohm's law on a wire; resistivity of the international standard copper, from memory",
)

warm_resistance = relation(
    "R_2 = R_1 * (1 + alpha * (T_2 - T_1))",
    name="warm_resistance",
    R_2=("ohm", "resistance of a winding when warm"),
    R_1=("ohm", "its resistance at the first temperature"),
    T_2=("degC", "temperature now"),
    T_1=("degC", "first temperature, at which the coefficient holds", 20),
    alpha=("1/dK", "rise for each kelvin; copper at 20 °C where none is given", 0.00393),
    valid="0 < R_1 and 0 < 1 + alpha * (T_2 - T_1)",
    example="R_2(R_1=20, T_2=100) = 26.288",
    source="straight line; coefficient of the international standard copper, from memory; a heater's alloy has its own",
)
