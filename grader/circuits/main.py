"""The high-speed circuit: from air flow to venturi depression, to the head across the main jet, to fuel and mixture."""

from __future__ import annotations

from grader.circuits.principles import GRAVITY, fuel_head
from grader.relations.relation import relation

venturi_area = relation(
    "A = pi/4 * (D**2 - d_o**2 + d_i**2)",
    name="venturi_area",
    A=("mm^2", "area left for air in the venturi round and through its booster"),
    D=("mm", "throat of the main venturi"),
    d_o=("mm", "outside of the booster"),
    d_i=("mm", "throat of the booster"),
    valid="0 <= d_i and d_i <= d_o and d_o < D",
    example="A(D=34.036, d_o=14.224, d_i=10.668) = 840.3",
    source="plane geometry: circle less ring",
)

venturi_depression = relation(
    "delta_p = 1 / (2 * rho) * (m / (C_d * A))**2",
    name="venturi_depression",
    delta_p=("kPa", "depression at the venturi throat"),
    m=("g/s", "air flow through one barrel"),
    C_d=("1", "discharge coefficient of the venturi"),
    A=("mm^2", "area of the throat"),
    rho=("kg/m^3", "density of the air at the inlet"),
    valid="0 <= m and 0 < C_d <= 1 and 0 < A and 0 < rho",
    example="delta_p(m=60, C_d=1, A=706.8583, rho=1.225) = 2.941",
    source="Bernoulli, air taken as not expanding: reads low, by 3 % near 3 kPa",
)

venturi_flow = relation(
    "m = C_d * A * sqrt(2 * rho * delta_p)",
    name="venturi_flow",
    m=("g/s", "air flow through one barrel"),
    C_d=("1", "discharge coefficient of the venturi"),
    A=("mm^2", "area of the throat"),
    rho=("kg/m^3", "density of the air at the inlet"),
    delta_p=("kPa", "depression at the venturi throat"),
    valid="0 < C_d <= 1 and 0 < A and 0 < rho and 0 <= delta_p",
    example="m(C_d=1, A=706.8583, rho=1.225, delta_p=2.941) = 60.0",
    source="Bernoulli, air taken as not expanding: reads high as the depression grows",
)

booster_depression = relation(
    "delta_p_n = k * delta_p",
    name="booster_depression",
    delta_p_n=("kPa", "depression at the nozzle, in the booster"),
    k=("1", "multiplication of the booster"),
    delta_p=("kPa", "depression at the main venturi"),
    valid="1 <= k and 0 <= delta_p",
    example="delta_p_n(k=1.9, delta_p=1.5) = 2.85",
    source="model of this course: a constant multiplication, illustrative",
)

jet_head = relation(
    "delta_p_j = delta_p_n - fuel_head(rho, h, g)",
    name="jet_head",
    uses=(fuel_head,),
    delta_p_j=("Pa", "pressure difference across the main jet"),
    delta_p_n=("Pa", "depression at the nozzle"),
    rho=("kg/m^3", "density of the fuel"),
    h=("mm", "height of the nozzle's spill above the fuel level"),
    g=("m/s^2", "acceleration of gravity", GRAVITY),
    valid="0 < rho and 0 < g and rho * g * h <= delta_p_n",
    example="delta_p_j(delta_p_n=2850, rho=740, h=7.62) = 2794.7",
    source="hydrostatics: depression less the head the fuel must climb",
)

main_jet_flow = relation(
    "m = C_d * A * sqrt(2 * rho * (delta_p_n - rho * g * h))",
    name="main_jet_flow",
    m=("g/s", "fuel flow through the main jet"),
    C_d=("1", "discharge coefficient of the jet"),
    A=("mm^2", "open area of the jet"),
    rho=("kg/m^3", "density of the fuel"),
    delta_p_n=("kPa", "depression at the nozzle"),
    h=("mm", "height of the nozzle's spill above the fuel level"),
    g=("m/s^2", "acceleration of gravity", GRAVITY),
    valid="0 < C_d <= 1 and 0 <= A and 0 < rho and 0 < g and rho * g * h <= delta_p_n",
    example="m(C_d=0.78, A=2.29843, rho=740, delta_p_n=2.85, h=7.62) = 3.646",
    source="Bernoulli and hydrostatics; no bleed, no loss in the nozzle",
)

main_mixture = relation(
    "r = C_a * A_a / (C_f * A_f) * sqrt(rho_a * delta_p / (rho_f * (delta_p - rho_f * g * h)))",
    name="main_mixture",
    r=("1", "air-fuel ratio of a plain venturi and jet"),
    C_a=("1", "discharge coefficient of the venturi"),
    A_a=("mm^2", "area of the venturi throat"),
    rho_a=("kg/m^3", "density of the air"),
    C_f=("1", "discharge coefficient of the jet"),
    A_f=("mm^2", "area of the jet"),
    rho_f=("kg/m^3", "density of the fuel"),
    delta_p=("kPa", "depression at the venturi throat"),
    h=("mm", "height of the nozzle's spill above the fuel level"),
    g=("m/s^2", "acceleration of gravity", GRAVITY),
    valid="0 < C_a <= 1 and 0 < A_a and 0 < rho_a and 0 < C_f <= 1 and 0 < A_f and 0 < rho_f and 0 < g and 0 < delta_p"
    " and rho_f * g * h < delta_p",
    example="r(C_a=0.82, A_a=380.1327, rho_a=1.2, C_f=0.7, A_f=1.130973, rho_f=750, delta_p=7.5, h=4) = 15.78",
    source="Bernoulli for air and fuel, air taken as not expanding",
)

starting_velocity = relation(
    "v = sqrt(2 * g * h * rho_f / rho_a)",
    name="starting_velocity",
    v=("m/s", "ideal air velocity in the throat at which fuel begins to spill"),
    h=("mm", "height of the nozzle's spill above the fuel level"),
    rho_f=("kg/m^3", "density of the fuel"),
    rho_a=("kg/m^3", "density of the air"),
    g=("m/s^2", "acceleration of gravity", GRAVITY),
    valid="0 <= h and 0 < rho_f and 0 < rho_a and 0 < g",
    example="v(h=4, rho_f=750, rho_a=1.2) = 7.002",
    source="Bernoulli: depression equal to the fuel's head",
)

jet_bore_for_mixture = relation(
    "D_2 = D_1 * sqrt(r_1 / r_2)",
    name="jet_bore_for_mixture",
    D_2=("mm", "bore of the jet to fit"),
    D_1=("mm", "bore of the jet fitted now"),
    r_1=("1", "air-fuel ratio measured now"),
    r_2=("1", "air-fuel ratio wanted"),
    valid="0 < D_1 and 0 < r_1 and 0 < r_2",
    example="D_2(D_1=2.36, r_1=15.5, r_2=14.0) = 2.483",
    source="square-root law: at the same air flow and head, fuel goes with the area of an open jet, area with the bore squared",
)

mixture_for_jet_bore = relation(
    "r_2 = r_1 * (D_1 / D_2)**2",
    name="mixture_for_jet_bore",
    r_2=("1", "air-fuel ratio after the change"),
    r_1=("1", "air-fuel ratio measured before"),
    D_1=("mm", "bore of the jet before"),
    D_2=("mm", "bore of the jet after"),
    valid="0 < r_1 and 0 < D_1 and 0 < D_2",
    example="r_2(r_1=15.5, D_1=2.36, D_2=2.48) = 14.04",
    source="square-root law: at the same air flow and head, fuel goes with the area of an open jet, area with the bore squared",
)

venturi_loss = relation(
    "delta_p = k / (2 * rho) * (m / A)**2",
    name="venturi_loss",
    delta_p=("Pa", "pressure that the venturi does not give back below it"),
    k=("1", "share of the throat's dynamic pressure that is lost"),
    m=("g/s", "air flow through one barrel"),
    A=("mm^2", "area of the throat"),
    rho=("kg/m^3", "density of the air"),
    valid="0 <= k and 0 <= m and 0 < A and 0 < rho",
    example="delta_p(k=0.25, m=60, A=840.3, rho=1.225) = 520.2",
    source="loss in proportion to dynamic pressure; the share is illustrative",
)

well_fall = relation(
    "z = x * delta_p / (rho * g)",
    name="well_fall",
    z=("mm", "how far the fuel in the emulsion tube has fallen"),
    delta_p=("Pa", "depression in the main well"),
    rho=("kg/m^3", "density of the fuel"),
    x=("1", "share of the depression that the tube feels"),
    g=("m/s^2", "acceleration of gravity", GRAVITY),
    valid="0 <= delta_p and 0 < rho and 0 <= x <= 1 and 0 < g",
    example="z(delta_p=2000, rho=736.3, x=0.1) = 27.70",
    source="hydrostatics; the share is this course's, illustrative",
)

hole_uncovered = relation(
    "u = min(max((z - z_h) / w, 0), 1)",
    name="hole_uncovered",
    u=("1", "share of an emulsion hole that stands above the fuel"),
    z=("mm", "how far the fuel in the tube has fallen"),
    z_h=("mm", "depth of the hole"),
    w=("mm", "depth over which it opens"),
    valid="0 <= z and 0 <= z_h and 0 < w",
    example="u(z=23.5, z_h=22.86, w=1.524) = 0.4199",
    source="model of this course: uncovered in proportion, illustrative",
)
