"""Measuring: what the marks of an instrument add up to, and what a known error of it does to a reading."""

from __future__ import annotations

from grader.relations.relation import relation

vernier_step = relation(
    "u = a / n",
    name="vernier_step",
    u=("in", "what one line of the vernier is worth"),
    a=("in", "distance between neighbouring marks of the main scale"),
    n=("1", "number of divisions on the vernier"),
    valid="0 < a and 1 <= n",
    example="u(a=0.025, n=25) = 0.001",
    source="construction of the vernier: n of its divisions are as long as n - 1 of the main scale's",
)

vernier_reading = relation(
    "L = M + j * u",
    name="vernier_reading",
    L=("in", "reading of a vernier caliper"),
    M=("in", "last mark of the main scale before the vernier's zero"),
    j=("1", "number of the vernier's line that meets a mark"),
    u=("in", "what one line of the vernier is worth"),
    valid="0 <= M and 0 <= j and 0 < u",
    example="L(M=1.475, j=11, u=0.001) = 1.486",
    source="construction of the vernier",
)

dial_reading = relation(
    "s = N * c + k * u",
    name="dial_reading",
    s=("in", "reading of a dial gauge"),
    N=("1", "whole turns of the long hand, as the small hand counts them"),
    c=("in", "travel of one turn"),
    k=("1", "division at which the long hand stands"),
    u=("in", "what one division is worth"),
    valid="0 <= N and 0 < c and 0 <= k and 0 < u",
    example="s(N=4, c=0.1, k=55, u=0.001) = 0.455",
    source="construction of the dial gauge",
)

true_length = relation(
    "L = r - z",
    name="true_length",
    L=("mm", "length that there is"),
    r=("mm", "reading"),
    z=("mm", "what the same tool reads at nothing: with its jaws shut, or at the mark where the rule is laid on"),
    valid="z <= r",
    example="L(r=12.5, z=0.2) = 12.3",
    source="definition of a zero error: the same amount is in every reading",
)

area_change = relation(
    "c = (D / D_0)**2 - 1",
    name="area_change",
    c=("%", "by how much the area is larger than the right one"),
    D=("mm", "bore found"),
    D_0=("mm", "right bore"),
    valid="0 < D and 0 < D_0",
    example="c(D=2, D_0=1) = 300",
    source="plane geometry: areas of circles go with the squares of their bores",
)

true_vacuum = relation(
    "v = r - z",
    name="true_vacuum",
    v=("inHg", "vacuum that there is"),
    r=("inHg", "vacuum that the gauge shows"),
    z=("inHg", "what the same gauge shows open to the air: below 0 where it hangs under its zero"),
    valid="z <= r",
    example="v(r=18.5, z=1.5) = 17",
    source="definition of a zero error: the same amount is in every reading",
)

reading_error = relation(
    "w = q * (b - a) / r",
    name="reading_error",
    w=("%", "error that the gauge is allowed, as a share of a reading"),
    q=("%", "accuracy of the gauge, as a share of its span"),
    a=("inHg", "least value of its scale"),
    b=("inHg", "greatest value of its scale"),
    r=("inHg", "reading"),
    valid="0 <= q < 1 and a < b and 0 < r",
    example="w(q=2, a=0, b=30, r=6) = 10",
    source="accuracy of dial pressure gauges is a share of the span (ASME B40.100, EN 837-1; the standards not seen)",
)

parallax_error = relation(
    "e = t * tan(theta)",
    name="parallax_error",
    e=("mm", "how far along the scale the reading is off"),
    t=("mm", "distance of the needle or the mark in front of the scale"),
    theta=("deg", "angle of the line of sight from square to the scale"),
    valid="0 <= t and 0 <= theta < pi/2",
    example="e(t=3, theta=30) = 1.7320508075688772",
    source="plane geometry",
)

span_error = relation(
    "e = q * (b - a)",
    name="span_error",
    e=("inHg", "error that the gauge is allowed at any place of its scale"),
    q=("%", "accuracy of the gauge, as a share of its span"),
    a=("inHg", "least value of its scale"),
    b=("inHg", "greatest value of its scale"),
    valid="0 <= q < 1 and a < b",
    example="e(q=2, a=0, b=30) = 0.6",
    source="accuracy of dial pressure gauges is a share of the span (ASME B40.100, EN 837-1; the standards not seen)",
)

tachometer_speed = relation(
    "n = n_t * Z_t / Z",
    name="tachometer_speed",
    n=("rev/min", "speed of the engine"),
    n_t=("rev/min", "speed that the tachometer shows"),
    Z_t=("1", "number of cylinders that the tachometer is set to"),
    Z=("1", "number of cylinders that the engine has"),
    valid="0 <= n_t and 1 <= Z_t and 1 <= Z",
    example="n(n_t=1000, Z_t=8, Z=4) = 2000",
    source="a tachometer on the coil counts sparks: one for each cylinder in two turns of a four-stroke engine",
)

parallel_resistance = relation(
    "R = R_1 * R_2 / (R_1 + R_2)",
    name="parallel_resistance",
    R=("ohm", "resistance that the meter shows"),
    R_1=("ohm", "resistance of the part"),
    R_2=("ohm", "resistance of the other way round"),
    valid="0 < R_1 and 0 < R_2",
    example="R(R_1=12, R_2=6) = 4",
    source="Kirchhoff: the currents of two ways add, at one voltage",
)
