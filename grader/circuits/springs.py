"""Coil springs of power piston and pump: what the wire bears, beside the rate that the power circuit states."""

from __future__ import annotations

from grader.relations.relation import relation

wahl_factor = relation(
    "k_w = (4 * C - 1) / (4 * C - 4) + 0.615 / C",
    name="wahl_factor",
    k_w=("1", "factor by which bending of the wire and the load's own shear raise its stress"),
    C=("1", "spring index: mean diameter of the coils over that of the wire"),
    valid="1 < C",
    example="k_w(C=8) = 1.18402",
    source="A. M. Wahl, as machine design texts print it, from memory; in use for an index of 4 to 12",
)

spring_stress = relation(
    "tau = wahl_factor(D / d) * 8 * F * D / (pi * d**3)",
    name="spring_stress",
    uses=(wahl_factor,),
    tau=(
        "psi",
        "greatest shear stress in the wire of a coil spring",
    ),
    F=("lbf", "force of the spring"),
    D=("in", "mean diameter of the coils"),
    d=("in", "diameter of the wire"),
    valid="0 <= F and 0 < d and d < D",
    example="tau(F=0.45, D=0.24, d=0.018) = 52200",
    source="torsion of the wire, with Wahl's factor; beyond what its wire bears a spring stays short, and weak",
)
