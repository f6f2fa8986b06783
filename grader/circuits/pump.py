"""The accelerator pump: what a stroke gives, how long it lasts, and what would lift its discharge check without one."""

from __future__ import annotations

from grader.circuits.principles import GRAVITY
from grader.relations.relation import relation

shot_volume = relation(
    "V = eta * pi/4 * D**2 * s",
    name="shot_volume",
    V=("cm^3", "fuel a stroke delivers"),
    D=("mm", "bore of the pump"),
    s=("mm", "stroke of the plunger"),
    eta=("1", "share of the swept volume that is delivered", 1.0),
    valid="0 <= D and 0 <= s and 0 < eta <= 1",
    example="V(D=19.05, s=6.35, eta=1) = 1.810",
    source="solid geometry: cylinder, less the share lost",
)

shots_volume = relation(
    "V_n = n * shot_volume(D, s, eta)",
    name="shots_volume",
    uses=(shot_volume,),
    V_n=("cm^3", "fuel that n strokes deliver into a graduate"),
    n=("1", "number of strokes"),
    D=("mm", "bore of the pump"),
    s=("mm", "stroke of the plunger"),
    eta=("1", "share of the swept volume that is delivered", 1.0),
    valid="0 <= n and 0 <= D and 0 <= s and 0 < eta <= 1",
    example="V_n(n=10, D=19.05, s=6.35, eta=1) = 18.10",
    source="solid geometry: cylinder, less the share lost, n times",
)

discharge_pressure = relation(
    "p = F / A_p",
    name="discharge_pressure",
    p=("kPa", "pressure of the fuel under the plunger"),
    F=("N", "force of the duration spring"),
    A_p=("mm^2", "area of the plunger"),
    valid="0 <= F and 0 < A_p",
    example="p(F=8.4516, A_p=285.023) = 29.65",
    source="force on an area; friction of the cup left out",
)

discharge_time = relation(
    "t = A_p * s / (C_d * A_j) * sqrt(rho * A_p / (2 * F))",
    name="discharge_time",
    t=("s", "duration of the discharge under a constant spring force"),
    A_p=("mm^2", "area of the plunger"),
    s=("mm", "stroke of the plunger"),
    F=("N", "force of the duration spring, taken as constant"),
    rho=("kg/m^3", "density of the fuel"),
    C_d=("1", "discharge coefficient of the pump jets"),
    A_j=("mm^2", "area of all pump jets together"),
    valid="0 < A_p and 0 <= s and 0 < F and 0 < rho and 0 < C_d <= 1 and 0 < A_j",
    example="t(A_p=285.023, s=8.89, F=7.228, rho=736.3, C_d=0.75, A_j=0.397256) = 1.025",
    source="Bernoulli through the pump jets; derived for this course; check weight and passages left out",
)

discharge_time_spring = relation(
    "t = A_p / (C_d * A_j) * sqrt(rho * A_p / 2) * (2 / k) * (sqrt(F_0) - sqrt(F_0 - k * s))",
    name="discharge_time_spring",
    t=("s", "duration of the discharge under a spring whose force falls"),
    A_p=("mm^2", "area of the plunger"),
    s=("mm", "stroke of the plunger"),
    F_0=("N", "force of the duration spring at the start of the stroke"),
    k=("N/mm", "rate of the duration spring"),
    rho=("kg/m^3", "density of the fuel"),
    C_d=("1", "discharge coefficient of the pump jets"),
    A_j=("mm^2", "area of all pump jets together"),
    valid="0 < A_p and 0 <= s and 0 < F_0 and 0 < k and k * s <= F_0 and 0 < rho and 0 < C_d <= 1 and 0 < A_j",
    example="t(A_p=285.023, s=8.89, F_0=8.451622, k=0.2626902, rho=736.3, C_d=0.75, A_j=0.397256) = 1.024",
    source="Bernoulli through the pump jets, integrated over the stroke; derived for this course",
)

ball_weight = relation(
    "W = pi/6 * D**3 * (rho_s - rho) * g",
    name="ball_weight",
    W=("N", "weight of a check ball in fuel"),
    D=("mm", "diameter of the ball"),
    rho_s=("kg/m^3", "density of the ball"),
    rho=("kg/m^3", "density of the fuel"),
    g=("m/s^2", "acceleration of gravity", GRAVITY),
    valid="0 <= D and 0 <= rho and rho <= rho_s and 0 < g",
    example="W(D=3.96875, rho_s=7830, rho=740) = 0.002276",
    source="solid geometry and buoyancy",
)

check_lifting_depression = relation(
    "delta_p = W / A + rho * g * h",
    name="check_lifting_depression",
    delta_p=("Pa", "depression at the pump jet that lifts the discharge check with no stroke"),
    W=("N", "weight of the check in fuel"),
    A=("mm^2", "area of the check's seat"),
    rho=("kg/m^3", "density of the fuel"),
    h=("mm", "height of the pump jet above the fuel level"),
    g=("m/s^2", "acceleration of gravity", GRAVITY),
    valid="0 <= W and 0 < A and 0 < rho and 0 <= h and 0 < g",
    example="delta_p(W=0.002276, A=7.917, rho=740, h=12.7) = 379.6",
    source="balance of weight and pressure on the seat's area, and the head up to the pump jet",
)

shot_flow = relation(
    "m = C_d * A_j * sqrt(2 * rho / A_p) * (sqrt(F_0) - k * C_d * A_j * t / sqrt(2 * rho * A_p**3))",
    name="shot_flow",
    m=("g/s", "fuel that the pump jets give, while the plunger moves"),
    t=("s", "time since the plunger began to move"),
    A_p=("mm^2", "area of the plunger"),
    F_0=("N", "force of the duration spring at the start of the stroke"),
    k=("N/mm", "rate of the duration spring"),
    rho=("kg/m^3", "density of the fuel"),
    C_d=("1", "discharge coefficient of the pump jets"),
    A_j=("mm^2", "area of all pump jets together"),
    valid="0 <= t and 0 < A_p and 0 < F_0 and 0 <= k and 0 < rho and 0 < C_d <= 1 and 0 < A_j"
    " and k * C_d * A_j * t <= sqrt(2 * rho * A_p**3 * F_0)",
    example="m(t=0.5, A_p=285.023, F_0=8.451622, k=0.2626902, rho=736.3, C_d=0.75, A_j=0.397256) = 1.825",
    source="Bernoulli through the pump jets; the root of the spring's force falls evenly in time; derived for this course",
)

pull_over_flow = relation(
    "m = C_d * A * sqrt(2 * rho * max(delta_p - delta_p_c, 0))",
    name="pull_over_flow",
    m=("g/s", "fuel that the air stream draws from a pump jet with no stroke"),
    C_d=("1", "discharge coefficient of the pump jet"),
    A=("mm^2", "area of the pump jet"),
    rho=("kg/m^3", "density of the fuel"),
    delta_p=("Pa", "depression at the pump jet, less what its bleed takes"),
    delta_p_c=("Pa", "depression that lifts the discharge check"),
    valid="0 < C_d <= 1 and 0 <= A and 0 < rho and 0 <= delta_p and 0 <= delta_p_c",
    example="m(C_d=0.75, A=0.397256, rho=736.3, delta_p=900, delta_p_c=475) = 0.2357",
    source="Bernoulli; the check lets past what is above its own weight",
)
