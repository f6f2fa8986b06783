"""Before touching anything: how heavy a vapour is, how much air a spill can make burn, how fast exhaust fouls a closed room."""

from __future__ import annotations

from grader.relations.relation import relation

AIR_MOLECULAR_WEIGHT = 28.96

vapour_weight = relation(
    "S = M / M_a",
    name="vapour_weight",
    S=("1", "weight of a gas or vapour over that of air"),
    M=("1", "relative molecular weight of the gas"),
    M_a=("1", "that of air", AIR_MOLECULAR_WEIGHT),
    valid="0 < M and 0 < M_a",
    example="S(M=28.01) = 0.9672",
    source="equal volumes of gases at one pressure and temperature hold equal numbers of molecules",
)

vapour_volume = relation(
    "V = rho * V_f / (S * rho_a)",
    name="vapour_volume",
    V=("m^3", "volume of the vapour by itself"),
    rho=("kg/m^3", "density of the liquid"),
    V_f=("L", "volume of the liquid that evaporates"),
    S=("1", "weight of the vapour over that of air"),
    rho_a=("kg/m^3", "density of the air"),
    valid="0 < rho and 0 <= V_f and 0 < S and 0 < rho_a",
    example="V(rho=740, V_f=0.25, S=3, rho_a=1.2) = 0.05139",
    source="the mass is the same before and after; all of it evaporates",
)

burnable_volume = relation(
    "V = rho * V_f / (S * rho_a * x)",
    name="burnable_volume",
    V=("m^3", "volume of air and vapour that can burn"),
    rho=("kg/m^3", "density of the liquid"),
    V_f=("L", "volume of the liquid that evaporates"),
    S=("1", "weight of the vapour over that of air"),
    rho_a=("kg/m^3", "density of the air"),
    x=("%", "share of vapour at the lower flammable limit"),
    valid="0 < rho and 0 <= V_f and 0 < S and 0 < rho_a and 0 < x and x <= 1",
    example="V(rho=740, V_f=0.25, S=3, rho_a=1.2, x=1.4) = 3.671",
    source="vapour thinned evenly to the limit; near the floor it is thicker, farther off thinner",
)

fouling_time = relation(
    "t = x * V / (y * Q)",
    name="fouling_time",
    t=("min", "time in which the room reaches the share"),
    x=("%", "share of the gas in the room's air"),
    V=("m^3", "volume of the room"),
    y=("%", "share of the gas in the exhaust"),
    Q=("m^3/min", "exhaust flow, cooled to the room"),
    valid="0 <= x and x <= y and y <= 1 and 0 < y and 0 < V and 0 < Q",
    example="t(x=0.02, V=45, y=4, Q=0.3) = 0.75",
    source="balance of volumes; clean air at first, mixed through evenly, no air changed",
)

fresh_air = relation(
    "Q_a = y * Q / x",
    name="fresh_air",
    Q_a=("m^3/min", "fresh air that holds the room at the share"),
    y=("%", "share of the gas in the exhaust"),
    Q=("m^3/min", "exhaust flow, cooled to the room"),
    x=("%", "share of the gas in the room's air"),
    valid="0 < x and x <= y and y <= 1 and 0 <= Q",
    example="Q_a(y=4, Q=0.3, x=0.005) = 240",
    source="dilution: what the exhaust brings, the fresh air takes away; mixed through evenly",
)
