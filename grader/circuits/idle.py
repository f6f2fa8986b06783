"""The low-speed circuit: what the plate uncovers, what is left of the manifold's signal, the mixture it draws."""

from __future__ import annotations

from grader.circuits.passages import flow_function
from grader.circuits.principles import AIR_CONSTANT, GRAVITY, fuel_head, jet_flow
from grader.relations.relation import relation

CHOKED = flow_function(0.0)
"""Flow function of air wherever it is choked: it no longer depends on the pressure below."""

plate_edge_rise = relation(
    "E = D * (sin(psi_0 + theta) - sin(psi_0)) / (2 * cos(psi_0))",
    name="plate_edge_rise",
    E=("mm", "how far the plate's edge has risen along the wall"),
    D=("mm", "throttle bore"),
    psi_0=("deg", "angle of the closed plate, from square to the bore"),
    theta=("deg", "throttle opening from there"),
    valid="0 < D and 0 <= psi_0 and 0 <= theta and psi_0 + theta <= pi/2",
    example="E(D=42.926, psi_0=12, theta=4) = 1.486",
    source="plane geometry: the edge turns about the shaft",
)

slot_area_below_plate = relation(
    "A = w * min(max(E - z, 0), l)",
    name="slot_area_below_plate",
    A=("mm^2", "area of the transfer slot below the plate's edge, where manifold vacuum draws"),
    E=("mm", "how far the plate's edge has risen along the wall"),
    z=("mm", "foot of the slot above the edge of the closed plate"),
    l=("mm", "length of the slot"),
    w=("mm", "width of the slot"),
    valid="0 <= E and 0 <= l and 0 <= w",
    example="A(E=1.5, z=1.016, l=4.064, w=0.762) = 0.3688",
    source="plane geometry: a slot uncovered from its foot",
)

stop_screw_angle = relation(
    "theta = n * p / l",
    name="stop_screw_angle",
    theta=("deg", "angle through which the stop screw turns the throttle"),
    n=("1", "turns of the stop screw"),
    p=("mm", "pitch of its thread"),
    l=("mm", "from the throttle shaft to where the screw bears, square to the screw"),
    valid="0 <= p and 0 < l and abs(n * p) <= l / 4",
    example="theta(n=1, p=0.7938, l=19.05) = 2.387",
    source="plane geometry, for small angles: travel of the screw over the arm",
)

plate_opening_near_idle = relation(
    "A = pi/4 * D**2 * (1 - cos(psi_0 + theta) / cos(psi_0))",
    name="plate_opening_near_idle",
    A=("mm^2", "area that a nearly closed plate leaves open; its shaft left out"),
    D=("mm", "throttle bore"),
    psi_0=("deg", "angle of the closed plate, from square to the bore"),
    theta=("deg", "throttle opening from there"),
    valid="0 < D and 0 <= psi_0 and 0 <= theta and psi_0 + theta <= pi/2",
    example="A(D=42.926, psi_0=12, theta=4) = 24.98",
    source="plane geometry: circle less the plate's shadow; a shaft takes under 1 % of it near idle",
)

angle_for_edge_rise = relation(
    "theta = asin(sin(psi_0) + 2 * E * cos(psi_0) / D) - psi_0",
    name="angle_for_edge_rise",
    theta=("deg", "throttle opening at which the plate's edge has risen so far"),
    E=("mm", "how far the plate's edge has risen along the wall"),
    D=("mm", "throttle bore"),
    psi_0=("deg", "angle of the closed plate, from square to the bore"),
    valid="0 <= E and 0 < D and 0 <= psi_0 and psi_0 < pi/2 and sin(psi_0) + 2 * E * cos(psi_0) / D <= 1",
    example="theta(E=1.016, D=42.926, psi_0=12) = 2.727",
    source="plane geometry: the edge turns about the shaft",
)

choked_air_flow = relation(
    "m = k * C_d * A * p / sqrt(R * T)",
    name="choked_air_flow",
    m=("g/s", "air flow past a throttle at idle, where its speed is that of sound"),
    C_d=("1", "discharge coefficient of the opening"),
    A=("mm^2", "area of the opening"),
    p=("kPa", "absolute pressure above the plate"),
    T=("K", "absolute temperature there"),
    R=("J/(kg*K)", "gas constant of dry air", AIR_CONSTANT),
    k=("1", "flow function of air where it chokes", CHOKED),
    valid="0 < C_d <= 1 and 0 <= A and 0 < p and 0 < T and 0 < R and 0 < k",
    example="m(C_d=0.82, A=27.5, p=101.325, T=288.15) = 5.440",
    source="isentropic flow; holds while the absolute pressure below is at most 0.528 of that above",
)

choked_opening = relation(
    "A = m * sqrt(R * T) / (k * C_d * p)",
    name="choked_opening",
    A=("mm^2", "opening that a throttle needs to pass an air flow at idle"),
    m=("g/s", "air flow"),
    C_d=("1", "discharge coefficient of the opening"),
    p=("kPa", "absolute pressure above the plate"),
    T=("K", "absolute temperature there"),
    R=("J/(kg*K)", "gas constant of dry air", AIR_CONSTANT),
    k=("1", "flow function of air where it chokes", CHOKED),
    valid="0 <= m and 0 < C_d <= 1 and 0 < p and 0 < T and 0 < R and 0 < k",
    example="A(m=5.44, C_d=0.82, p=101.325, T=288.15) = 27.50",
    source="isentropic flow; holds while the absolute pressure below is at most 0.528 of that above",
)

mixture_port_area = relation(
    "A = pi/4 * D**2 * (n / n_m)",
    name="mixture_port_area",
    A=("mm^2", "area that the mixture screw leaves open"),
    n=("1", "turns of the screw from lightly seated"),
    n_m=("1", "turns at which the port is wholly open"),
    D=("mm", "bore of the mixture port"),
    valid="0 <= n and n <= n_m and 0 < n_m and 0 <= D",
    example="A(n=1.6, n_m=3, D=1.1811) = 0.5843",
    source="model of this course: area in proportion to the turns, illustrative",
)

idle_signal = relation(
    "delta_p = delta_p_m * A_d**2 / (A_d**2 + A_j**2 + C * A_j * A_b + A_b**2)",
    name="idle_signal",
    delta_p=("kPa", "depression in the idle passage, where the idle bleed enters"),
    delta_p_m=("kPa", "depression below the plate, at most that at which air chokes"),
    A_d=("mm^2", "discharge: economiser, mixture port and slot in series, area times coefficient"),
    A_j=("mm^2", "idle jet, area times coefficient"),
    A_b=("mm^2", "idle bleed and the slot above the plate's edge, area times coefficient"),
    C=("1", "interaction of air and fuel in one restriction"),
    valid="0 <= delta_p_m and 0 < A_d and 0 <= A_j and 0 <= A_b and 2 <= C",
    example="delta_p(delta_p_m=47.8, A_d=0.6, A_j=0.324, A_b=2.025, C=5.1505) = 2.166",
    source="square-root laws of jet, bleed and discharge, separated flow, lift left out; derived for this course",
)

idle_fuel_flow = relation(
    "m = jet_flow(C_d, A, rho, delta_p - fuel_head(rho, h, g))",
    name="idle_fuel_flow",
    uses=(jet_flow, fuel_head),
    m=("g/s", "fuel that the idle jet meters"),
    C_d=("1", "discharge coefficient of the idle jet"),
    A=("mm^2", "area of the idle jet"),
    rho=("kg/m^3", "density of the fuel"),
    delta_p=("kPa", "depression in the idle passage"),
    h=("mm", "top of the idle passage above the fuel level"),
    g=("m/s^2", "acceleration of gravity", GRAVITY),
    valid="0 < C_d <= 1 and 0 <= A and 0 < rho and 0 < g and rho * g * h <= delta_p",
    example="m(C_d=0.75, A=0.432, rho=736.3, delta_p=2, h=15.24) = 0.5405",
    source="Bernoulli and hydrostatics: idle signal less lift; the main jet before it, far larger, left out",
)

well_depression_at_idle = relation(
    "delta_p_w = delta_p - rho * g * h - (m / (C_d * A))**2 / (2 * rho)",
    name="well_depression_at_idle",
    delta_p_w=("Pa", "depression in the main well, at the fuel level, while the idle circuit draws from it"),
    delta_p=("Pa", "depression in the idle passage"),
    rho=("kg/m^3", "density of the fuel"),
    h=("mm", "top of the idle passage above the fuel level"),
    m=("g/s", "fuel through the idle jet"),
    C_d=("1", "discharge coefficient of the idle jet"),
    A=("mm^2", "area of the idle jet"),
    g=("m/s^2", "acceleration of gravity", GRAVITY),
    valid="0 < rho and 0 <= m and 0 < C_d <= 1 and 0 < A and 0 < g",
    example="delta_p_w(delta_p=2000, rho=736.3, h=15.24, m=0.5, C_d=0.75, A=0.432) = 272.8",
    source="Bernoulli and hydrostatics: idle signal less lift and less what the idle jet takes",
)

burning_share = relation(
    "b = max(1 - ((lamda - lamda_0) / (w_l if lamda > lamda_0 else w_r))**2, 0)",
    name="burning_share",
    b=("1", "work of a filling over that at the best mixture"),
    lamda=("1", "lambda"),
    lamda_0=("1", "lambda at which the engine pulls best", 0.88),
    w_l=("1", "how much leaner it stops", 0.55),
    w_r=("1", "how much richer it stops", 0.60),
    valid="0 < lamda and 0 < lamda_0 and 0 < w_l and 0 < w_r",
    example="b(lamda=1.05) = 0.9045",
    source="model of this course, illustrative; misfire and spark left out",
)

friction_pressure = relation(
    "p = p_0 + p_1 * (n / n_0) + p_2 * (n / n_0)**2",
    name="friction_pressure",
    p=("kPa", "mean pressure that friction and accessories cost"),
    n=("rev/min", "engine speed"),
    n_0=("rev/min", "speed that the coefficients are counted in", 1000),
    p_0=("kPa", "part that does not depend on speed", 97),
    p_1=("kPa", "part that grows with speed", 15),
    p_2=("kPa", "part that grows with speed squared", 5),
    valid="0 <= n and 0 < n_0",
    example="p(n=700) = 109.95",
    source="form and coefficients of a textbook's fit (J. Heywood, Internal Combustion Engine Fundamentals, ch. 13), from memory",
)

idle_mean_pressure = relation(
    "p = eta * q * rho * b - p_f - delta_p",
    name="idle_mean_pressure",
    p=("kPa", "mean pressure left to turn what hangs on the engine"),
    rho=("kg/m^3", "air drawn in a cycle over the displacement"),
    b=("1", "work of a filling over that at the best mixture"),
    p_f=("kPa", "mean pressure of friction"),
    delta_p=("kPa", "manifold vacuum, which the engine pumps against"),
    eta=("1", "share of the heat that becomes work", 0.30),
    q=("N*m/kg", "heat that a kilogram of air burns", 2.95e6),
    valid="0 <= rho and 0 <= b <= 1 and 0 <= p_f and 0 <= delta_p and 0 < eta < 1 and 0 < q",
    example="p(rho=0.4, b=0.9, p_f=109.95, delta_p=57.57) = 151.1",
    source="balance of mean pressures; the share and the heat are this course's, illustrative",
)
