"""
What passes a hole, a throat or a plate's opening: gas at any speed, fuel with air in it, several restrictions in a row.

The laws of `principles` taken as far as the whole carburetor needs them.
"""

from __future__ import annotations

from grader.circuits.principles import AIR_CONSTANT, HEAT_RATIO
from grader.relations.relation import relation

critical_ratio = relation(
    "r_c = (2 / (gamma + 1))**(gamma / (gamma - 1))",
    name="critical_ratio",
    r_c=("1", "pressure ratio at which flow chokes"),
    gamma=("1", "ratio of specific heats", HEAT_RATIO),
    valid="1 < gamma",
    example="r_c(gamma=1.4) = 0.528282",
    source="isentropic flow of an ideal gas",
)

flow_function = relation(
    "psi = r**(1 / gamma) * sqrt(2 * gamma / (gamma - 1) * (1 - r**((gamma - 1) / gamma)))"
    " if r > critical_ratio(gamma)"
    " else sqrt(gamma) * (2 / (gamma + 1))**((gamma + 1) / (2 * (gamma - 1)))",
    name="flow_function",
    uses=(critical_ratio,),
    psi=("1", "flow of a restriction without its size, pressure and temperature"),
    r=("1", "pressure in the restriction over that before it, absolute"),
    gamma=("1", "ratio of specific heats", HEAT_RATIO),
    valid="0 <= r <= 1 and 1 < gamma",
    example="psi(r=0.4) = 0.684731",
    source="isentropic flow of an ideal gas; choked, it no longer depends on the pressure below",
)

isentropic_flow = relation(
    "m = C_d * A * p_u / sqrt(R * T) * flow_function(p_d / p_u, gamma)",
    name="isentropic_flow",
    uses=(flow_function,),
    m=("g/s", "air flow through a restriction, choked or not"),
    C_d=("1", "discharge coefficient"),
    A=("mm^2", "area of the restriction"),
    p_u=("kPa", "absolute pressure upstream"),
    T=("K", "absolute temperature upstream"),
    p_d=("kPa", "absolute pressure in the restriction"),
    R=("J/(kg*K)", "gas constant of dry air", AIR_CONSTANT),
    gamma=("1", "ratio of specific heats", HEAT_RATIO),
    valid="0 < C_d <= 1 and 0 <= A and 0 < p_u and 0 < T and 0 <= p_d <= p_u and 0 < R and 1 < gamma",
    example="m(C_d=1, A=100, p_u=101, T=288, p_d=80, R=286.9) = 19.978",
    source="isentropic flow of an ideal gas",
)

expansibility = relation(
    "epsilon = sqrt(gamma / (gamma - 1) * r**(2 / gamma) * ((1 - beta**4) / (1 - beta**4 * r**(2 / gamma)))"
    " * ((1 - r**((gamma - 1) / gamma)) / (1 - r)))",
    name="expansibility",
    epsilon=("1", "factor by which air's expansion lowers the flow"),
    r=("1", "throat pressure over inlet pressure, absolute"),
    beta=("1", "throat diameter over inlet diameter"),
    gamma=("1", "ratio of specific heats", HEAT_RATIO),
    valid="0.528 < r < 1 and 0 <= beta < 1 and 1 < gamma",
    example="epsilon(r=0.95, beta=0) = 0.972847",
    source="isentropic flow of an ideal gas; the form printed for nozzles in ISO 5167-3, as a public library states it",
)

reynolds_number = relation(
    "N = v * D / nu",
    name="reynolds_number",
    N=("1", "Reynolds number: inertia over friction"),
    v=("m/s", "velocity in the bore"),
    D=("mm", "bore"),
    nu=("mm^2/s", "kinematic viscosity"),
    valid="0 <= v and 0 < D and 0 < nu",
    example="N(v=2.5, D=2, nu=0.6) = 8333",
    source="definition",
)

small_jet_coefficient = relation(
    "C_d = C_0 * N / (N + N_0)",
    name="small_jet_coefficient",
    C_d=("1", "discharge coefficient of a jet"),
    C_0=("1", "its coefficient at a great flow"),
    N=("1", "Reynolds number of the jet, on the ideal velocity"),
    N_0=("1", "Reynolds number at which half of it is left", 150),
    valid="0 < C_0 <= 1 and 0 <= N and 0 < N_0",
    example="C_d(C_0=0.78, N=1500) = 0.7091",
    source="model of this course, illustrative: friction takes its part from a small or slow jet",
)

long_orifice_coefficient = relation(
    "C_d = 1 / (1 / (0.827 - 0.0085 * x) + 20 / N * (1 + 2.25 * x) - 0.005 * x / (1 + 7.5 * (log(0.00015 * N) / log(10))**2))",
    name="long_orifice_coefficient",
    C_d=("1", "discharge coefficient of a drilled passage"),
    N=("1", "Reynolds number in it"),
    x=("1", "its length over its bore"),
    valid="10 <= N <= 20000 and 2 <= x <= 10",
    example="C_d(N=20000, x=2) = 0.808817",
    source="A. Lichtarowicz, R. K. Duggins, E. Markland 1965, as a public program states it; the paper not seen",
)

pressure_ratio_at_mach = relation(
    "r = (1 + (gamma - 1) / 2 * M**2)**(-gamma / (gamma - 1))",
    name="pressure_ratio_at_mach",
    r=("1", "pressure in the throat over that at rest before it"),
    M=("1", "Mach number in the throat: velocity over that of sound"),
    gamma=("1", "ratio of specific heats", HEAT_RATIO),
    valid="0 <= M and 1 < gamma",
    example="r(M=0.5) = 0.8430",
    source="isentropic flow of an ideal gas",
)

flow_at_mach = relation(
    "m = C_d * A * p * sqrt(gamma / (R * T)) * M * (1 + (gamma - 1) / 2 * M**2)**(-(gamma + 1) / (2 * (gamma - 1)))",
    name="flow_at_mach",
    m=("g/s", "air flow through a throat"),
    C_d=("1", "discharge coefficient of the throat"),
    A=("mm^2", "area of the throat"),
    p=("kPa", "absolute pressure at rest before it"),
    T=("K", "absolute temperature at rest before it"),
    M=("1", "Mach number in the throat: velocity over that of sound"),
    R=("J/(kg*K)", "gas constant of dry air", AIR_CONSTANT),
    gamma=("1", "ratio of specific heats", HEAT_RATIO),
    valid="0 < C_d <= 1 and 0 <= A and 0 < p and 0 < T and 0 <= M and 0 < R and 1 < gamma",
    example="m(C_d=1, A=706.8583, p=101.325, T=288.15, M=0.2) = 57.5",
    source="isentropic flow of an ideal gas",
)

series_area = relation(
    "A = A_1 * A_2 / sqrt(A_1**2 + A_2**2)",
    name="series_area",
    A=("mm^2", "one restriction that passes as much as two in series"),
    A_1=("mm^2", "first restriction, area times coefficient"),
    A_2=("mm^2", "second restriction, area times coefficient"),
    valid="0 < A_1 and 0 < A_2",
    example="A(A_1=3, A_2=4) = 2.4",
    source="square-root law: the same flow passes both, and their pressure differences add",
)

bled_signal = relation(
    "delta_p_w = delta_p * A**2 / (A**2 + A_b**2)",
    name="bled_signal",
    delta_p_w=("Pa", "depression left between the two openings"),
    delta_p=("Pa", "depression beyond the opening that draws"),
    A=("mm^2", "opening that draws, area times coefficient where the two differ"),
    A_b=("mm^2", "bleed, likewise"),
    valid="0 <= delta_p and 0 <= A and 0 <= A_b and 0 < A + A_b",
    example="delta_p_w(delta_p=2850, A=7.917, A_b=1.533) = 2747",
    source="square-root law: the same air passes both, so squares of areas share the depression; no fuel in it yet",
)

slip_coefficient = relation(
    "C = (rho_f / rho_a)**(1/4) + (rho_a / rho_f)**(1/4)",
    name="slip_coefficient",
    C=("1", "interaction of fuel and air in one restriction"),
    rho_f=("kg/m^3", "density of the fuel"),
    rho_a=("kg/m^3", "density of the air"),
    valid="0 < rho_f and 0 < rho_a",
    example="C(rho_f=736.3, rho_a=1.225) = 5.153",
    source="D. Chisholm's separated flow, slip as the fourth root of the densities, from memory",
)

two_phase_drop = relation(
    "delta_p = (m_f**2 / rho_f + C * m_f * m_a / sqrt(rho_f * rho_a) + m_a**2 / rho_a) / (2 * (C_d * A)**2)",
    name="two_phase_drop",
    delta_p=("kPa", "pressure difference that drives fuel and air through one restriction"),
    m_f=("g/s", "fuel flow"),
    m_a=("g/s", "air flow with it"),
    C_d=("1", "discharge coefficient"),
    A=("mm^2", "area of the restriction"),
    C=("1", "interaction of fuel and air"),
    rho_f=("kg/m^3", "density of the fuel"),
    rho_a=("kg/m^3", "density of the air"),
    valid="0 <= m_f and 0 <= m_a and 0 < C_d <= 1 and 0 < A and 2 <= C and 0 < rho_f and 0 < rho_a",
    example="delta_p(m_f=2, m_a=0.05, C_d=0.7, A=7.917, C=5.153, rho_f=736.3, rho_a=1.225) = 0.4010",
    source="Lockhart-Martinelli form with Chisholm's interaction, from memory; air taken as not expanding",
)

fuel_flow_with_air = relation(
    "m_f = sqrt(rho_f) * (sqrt(2 * (C_d * A)**2 * delta_p + (C**2 / 4 - 1) * m_a**2 / rho_a) - C * m_a / (2 * sqrt(rho_a)))",
    name="fuel_flow_with_air",
    m_f=("g/s", "fuel that still passes a restriction beside the air"),
    m_a=("g/s", "air flow with it"),
    delta_p=("kPa", "pressure difference across the restriction"),
    C_d=("1", "discharge coefficient"),
    A=("mm^2", "area of the restriction"),
    C=("1", "interaction of fuel and air"),
    rho_f=("kg/m^3", "density of the fuel"),
    rho_a=("kg/m^3", "density of the air"),
    valid="0 <= m_a and 0 <= delta_p and 0 < C_d <= 1 and 0 <= A and 2 <= C and 0 < rho_f and 0 < rho_a"
    " and m_a**2 / rho_a <= 2 * (C_d * A)**2 * delta_p",
    example="m_f(m_a=0.05, delta_p=1, C_d=0.7, A=7.917, C=5.153, rho_f=736.3, rho_a=1.225) = 4.170",
    source="separated flow, turned round for the fuel",
)

plate_shadow = relation(
    "k = max(cos(psi_0 + theta) / cos(psi_0), a)",
    name="plate_shadow",
    k=("1", "height of the plate's shadow over the bore, at least the shaft's"),
    a=("1", "shaft diameter over bore"),
    psi_0=("deg", "angle of the closed plate, from square to the bore"),
    theta=("deg", "opening from there"),
    valid="0 <= a < 1 and 0 <= psi_0 and 0 <= theta and psi_0 + theta <= pi/2",
    example="k(a=0.2, psi_0=0, theta=20) = 0.9397",
    source="plane geometry: an inclined plate seen along the bore",
)

shadow_opening = relation(
    "A = D**2 / 2 * (acos(a) - k * acos(a / k) - a * (sqrt(1 - a**2) - sqrt(1 - (a / k)**2)))",
    name="shadow_opening",
    A=("mm^2", "area that plate and shaft leave open"),
    D=("mm", "bore"),
    a=("1", "shaft diameter over bore"),
    k=("1", "height of the plate's shadow over the bore"),
    valid="0 < D and 0 <= a < 1 and a <= k <= 1 and 0 < k",
    example="A(D=40, a=0.2, k=0.939692621) = 75.4982",
    source="plane geometry: circle less ellipse less shaft, derived for this course; checked against a textbook's form",
)

plate_opening = relation(
    "A = shadow_opening(D, d / D, plate_shadow(d / D, psi_0, theta))",
    name="plate_opening",
    uses=(shadow_opening, plate_shadow),
    A=("mm^2", "area that a throttle or choke plate leaves open"),
    D=("mm", "bore"),
    d=("mm", "diameter of the shaft"),
    psi_0=("deg", "angle of the closed plate, from square to the bore"),
    theta=("deg", "opening from there"),
    valid="0 < D and 0 <= d < D and 0 <= psi_0 and 0 <= theta and psi_0 + theta <= pi/2",
    example="A(D=40, d=8, psi_0=0, theta=20) = 75.4982",
    source="plane geometry: circle less ellipse less shaft, derived for this course; checked against a textbook's form",
)

cleaner_drop = relation(
    "delta_p = k * m**2 / (2 * rho)",
    name="cleaner_drop",
    delta_p=("Pa", "drop of pressure through the air cleaner"),
    k=("1/m^4", "its resistance"),
    m=("g/s", "air flow of the whole engine"),
    rho=("kg/m^3", "density of the air"),
    valid="0 <= k and 0 <= m and 0 < rho",
    example="delta_p(k=60000, m=100, rho=1.225) = 244.9",
    source="square-root law turned round; the resistance is illustrative",
)
