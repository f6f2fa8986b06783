"""
Pressure, flow and mixture: the laws every circuit stands on.

Symbols here are the formula's own; items and lessons call a relation by position and give full trade names.
"""

from __future__ import annotations

from grader.relations.relation import relation

GRAVITY = 9.80665
"""Standard gravity, exact by definition. [m/s²]"""

AIR_CONSTANT = 287.05287
"""Gas constant of dry air in the standard atmosphere (US 1976, ISO 2533). [J/(kg·K)]"""

HEAT_RATIO = 1.4
"""Ratio of specific heats of air, as textbooks take it; measured 1.402 at 20 °C."""

disc_area = relation(
    "A = pi/4 * D**2",
    name="disc_area",
    A=("mm^2", "area of a round hole"),
    D=("mm", "bore"),
    valid="0 <= D",
    example="A(D=2.41) = 4.562",
    source="plane geometry: circle",
)

disc_bore = relation(
    "D = sqrt(4 * A / pi)",
    name="disc_bore",
    D=("mm", "bore of a round hole"),
    A=("mm^2", "area"),
    valid="0 <= A",
    example="D(A=4.562) = 2.410",
    source="plane geometry: circle, turned round",
)

absolute_pressure = relation(
    "p = p_a - delta_p",
    name="absolute_pressure",
    p=("kPa", "absolute pressure"),
    p_a=("kPa", "ambient pressure"),
    delta_p=("inHg", "vacuum, as the gauge shows it"),
    valid="0 <= delta_p <= p_a",
    example="p(p_a=101.325, delta_p=18) = 40.37",
    source="definition: a vacuum gauge counts down from ambient",
)

air_density = relation(
    "rho = p / (R * T)",
    name="air_density",
    rho=("kg/m^3", "density of dry air"),
    p=("kPa", "absolute pressure"),
    T=("K", "absolute temperature"),
    R=("J/(kg*K)", "gas constant of dry air", AIR_CONSTANT),
    valid="0 < p and 0 < T and 0 < R",
    example="rho(p=101.325, T=288.15) = 1.2250",
    source="ideal gas law; 0.04 % below real air at 15 °C and sea level",
)

standard_pressure = relation(
    "p = p_0 * (1 - L * h / T_0)**5.25588",
    name="standard_pressure",
    p=("kPa", "pressure in the standard atmosphere"),
    h=("ft", "altitude (geopotential)"),
    p_0=("kPa", "pressure at sea level", 101.325),
    L=("dK/m", "fall of temperature with altitude", 0.0065),
    T_0=("K", "temperature at sea level", 288.15),
    valid="0 <= L * h / T_0 <= 0.2482 and 0 < p_0",
    example="p(h=4000) = 87.51",
    source="US Standard Atmosphere 1976, the same as ISO 2533 below 11 km; from memory, checked against a printed table",
)

standard_density_ratio = relation(
    "sigma = (1 - L * h / T_0)**4.25588",
    name="standard_density_ratio",
    sigma=("1", "air density over that at sea level, standard atmosphere"),
    h=("ft", "altitude (geopotential)"),
    L=("dK/m", "fall of temperature with altitude", 0.0065),
    T_0=("K", "temperature at sea level", 288.15),
    valid="0 <= L * h / T_0 <= 0.2482",
    example="sigma(h=4000) = 0.8881",
    source="US Standard Atmosphere 1976, pressure over temperature; from memory, checked against a printed table",
)

density_ratio = relation(
    "sigma = p * T_0 / (p_0 * T)",
    name="density_ratio",
    sigma=("1", "air density over a reference density"),
    p=("kPa", "absolute pressure"),
    T=("K", "absolute temperature"),
    p_0=("kPa", "reference pressure", 101.325),
    T_0=("K", "reference temperature", 288.15),
    valid="0 < p and 0 < T and 0 < p_0 and 0 < T_0",
    example="sigma(p=87.5105, T=280.225) = 0.8881",
    source="ideal gas law, twice",
)

fuel_head = relation(
    "delta_p = rho * g * h",
    name="fuel_head",
    delta_p=("Pa", "pressure of a column of fuel"),
    rho=("kg/m^3", "density of the fuel"),
    h=("mm", "height of the column"),
    g=("m/s^2", "acceleration of gravity", GRAVITY),
    valid="0 < rho and 0 < g",
    example="delta_p(rho=740, h=1000) = 7256.9",
    source="hydrostatics",
)

column_pressure = relation(
    "delta_p = rho * g * h",
    name="column_pressure",
    delta_p=("Pa", "pressure under a column of liquid, as in a U-tube"),
    rho=("kg/m^3", "density of the liquid"),
    h=("in", "height of the column"),
    g=("m/s^2", "acceleration of gravity", GRAVITY),
    valid="0 < rho and 0 <= h and 0 < g",
    example="delta_p(rho=1000, h=1) = 249.089",
    source="hydrostatics; the inches of mercury and of water are defined by it",
)

column_height = relation(
    "h = delta_p / (rho * g)",
    name="column_height",
    h=("in", "height of the column that a pressure holds up"),
    delta_p=("Pa", "pressure, or difference of two pressures"),
    rho=("kg/m^3", "density of the liquid"),
    g=("m/s^2", "acceleration of gravity", GRAVITY),
    valid="0 <= delta_p and 0 < rho and 0 < g",
    example="h(delta_p=249.089, rho=1000) = 1.000",
    source="hydrostatics, turned round",
)

jet_flow = relation(
    "m = C_d * A * sqrt(2 * rho * delta_p)",
    name="jet_flow",
    m=("g/s", "flow through a jet"),
    C_d=("1", "discharge coefficient"),
    A=("mm^2", "area of the jet"),
    rho=("kg/m^3", "density of the liquid"),
    delta_p=("kPa", "pressure difference across the jet"),
    valid="0 < C_d <= 1 and 0 <= A and 0 < rho and 0 <= delta_p",
    example="m(C_d=0.65, A=0.7853982, rho=760, delta_p=10.19892) = 2.010",
    source="Bernoulli with a constant discharge coefficient",
)

jet_area = relation(
    "A = m / (C_d * sqrt(2 * rho * delta_p))",
    name="jet_area",
    A=("mm^2", "area a jet needs"),
    m=("g/s", "wanted flow"),
    C_d=("1", "discharge coefficient"),
    rho=("kg/m^3", "density of the liquid"),
    delta_p=("kPa", "pressure difference across the jet"),
    valid="0 <= m and 0 < C_d <= 1 and 0 < rho and 0 < delta_p",
    example="A(m=2.010, C_d=0.65, rho=760, delta_p=10.19892) = 0.785",
    source="Bernoulli with a constant discharge coefficient, turned round",
)

jet_velocity = relation(
    "v = sqrt(2 * delta_p / rho)",
    name="jet_velocity",
    v=("m/s", "ideal velocity"),
    delta_p=("kPa", "pressure difference"),
    rho=("kg/m^3", "density of what flows"),
    valid="0 <= delta_p and 0 < rho",
    example="v(delta_p=2, rho=740) = 2.325",
    source="Bernoulli",
)

square_root_law = relation(
    "m_2 = m_1 * sqrt(delta_p_2 / delta_p_1)",
    name="square_root_law",
    m_2=("g/s", "flow at the second pressure difference"),
    m_1=("g/s", "flow at the first pressure difference"),
    delta_p_1=("kPa", "first pressure difference"),
    delta_p_2=("kPa", "second pressure difference"),
    valid="0 <= m_1 and 0 < delta_p_1 and 0 <= delta_p_2",
    example="m_2(m_1=2.0, delta_p_1=1.5, delta_p_2=6.0) = 4.0",
    source="Bernoulli: same jet, same fuel, constant discharge coefficient",
)

air_fuel_ratio = relation(
    "r = m_a / m_f",
    name="air_fuel_ratio",
    r=("1", "air-fuel ratio by mass"),
    m_a=("g/s", "air flow"),
    m_f=("g/s", "fuel flow"),
    valid="0 <= m_a and 0 < m_f",
    example="r(m_a=29.4, m_f=2.0) = 14.7",
    source="definition",
)

excess_air = relation(
    "lamda = r / r_s",
    name="excess_air",
    lamda=("1", "lambda: air there is over air the fuel needs"),
    r=("1", "air-fuel ratio by mass"),
    r_s=("1", "stoichiometric air-fuel ratio of the fuel"),
    valid="0 <= r and 0 < r_s",
    example="lamda(r=13.0, r_s=14.6) = 0.8904",
    source="definition",
)

blend_air_fuel_ratio = relation(
    "r = w * r_2 + (1 - w) * r_1",
    name="blend_air_fuel_ratio",
    r=("1", "stoichiometric air-fuel ratio of a blend"),
    r_1=("1", "stoichiometric air-fuel ratio of the gasoline"),
    r_2=("1", "stoichiometric air-fuel ratio of the ethanol"),
    w=("1", "share of ethanol by mass"),
    valid="0 < r_1 and 0 < r_2 and 0 <= w <= 1",
    example="r(r_1=14.7, r_2=9.0, w=0.10528) = 14.10",
    source="mass balance",
)

engine_air_volume = relation(
    "Q = eta * V * n / 2",
    name="engine_air_volume",
    Q=("ft^3/min", "volume of air a four-stroke engine draws"),
    V=("in^3", "displacement"),
    n=("rev/min", "speed"),
    eta=("1", "volumetric efficiency"),
    valid="0 < V and 0 <= n and 0 < eta",
    example="Q(V=350, n=5500, eta=0.80) = 445.6",
    source="geometry: one filling in two revolutions",
)

engine_air = relation(
    "m = rho * eta * V * n / 2",
    name="engine_air",
    m=("g/s", "air flow of a four-stroke engine"),
    V=("L", "displacement"),
    n=("rev/min", "speed"),
    eta=("1", "volumetric efficiency"),
    rho=("kg/m^3", "density the efficiency is counted at"),
    valid="0 < V and 0 <= n and 0 < eta and 0 < rho",
    example="m(V=3.769911, n=2000, eta=0.7, rho=1.2) = 52.78",
    source="geometry: one filling in two revolutions",
)

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

manifold_vacuum = relation(
    "delta_p = p_a - p",
    name="manifold_vacuum",
    delta_p=("inHg", "manifold vacuum, as the gauge shows it"),
    p_a=("kPa", "ambient pressure"),
    p=("kPa", "absolute pressure in the manifold"),
    valid="0 <= p <= p_a",
    example="delta_p(p_a=101.325, p=40.37) = 18.0",
    source="definition: a vacuum gauge counts down from ambient",
)

absolute_from_gauge = relation(
    "p = p_a + p_g",
    name="absolute_from_gauge",
    p=("kPa", "absolute pressure"),
    p_a=("kPa", "ambient pressure"),
    p_g=("psi", "pressure as the gauge shows it, above ambient"),
    valid="0 <= p_a and 0 <= p_a + p_g",
    example="p(p_a=101.325, p_g=5.5) = 139.25",
    source="definition: a pressure gauge counts up from ambient",
)

standard_temperature = relation(
    "T = T_0 - L * h",
    name="standard_temperature",
    T=("degC", "temperature in the standard atmosphere"),
    h=("ft", "altitude (geopotential)"),
    L=("dK/m", "fall of temperature with altitude", 0.0065),
    T_0=("K", "temperature at sea level", 288.15),
    valid="0 <= L * h / T_0 <= 0.2482",
    example="T(h=4000) = 7.08",
    source="US Standard Atmosphere 1976, the same as ISO 2533 below 11 km; from memory, checked against a printed table",
)

saturation_pressure = relation(
    "p_s = p_0 * exp((a - (T - T_0) / b) * (T - T_0) / (c + T - T_0))",
    name="saturation_pressure",
    p_s=("kPa", "pressure at which air is full of water vapour"),
    T=("degC", "temperature of the air"),
    T_0=("degC", "freezing point", 0),
    p_0=("Pa", "that pressure at the freezing point", 611.21),
    a=("1", "coefficient of the fit", 18.678),
    b=("dK", "coefficient of the fit", 234.5),
    c=("dK", "coefficient of the fit", 257.14),
    valid="0.9267 <= T / T_0 <= 1.1831 and 0 < p_0 and 0 < b and 0 < c",
    example="p_s(T=20) = 2.338",
    source="A. Buck 1996, over water, from memory; within 0.1 % of a reference library from 0 to 50 °C",
)

moist_air_density = relation(
    "rho = (p - x * phi * p_s) / (R * T)",
    name="moist_air_density",
    rho=("kg/m^3", "density of moist air"),
    p=("kPa", "absolute pressure"),
    T=("degC", "temperature of the air"),
    phi=("%", "relative humidity"),
    p_s=("kPa", "pressure at which air of that temperature is full of water vapour"),
    R=("J/(kg*K)", "gas constant of dry air", AIR_CONSTANT),
    x=("1", "by how much vapour is lighter than air, as a share", 0.378),
    valid="0 < p and 0 < T and 0 <= phi <= 1 and 0 <= p_s and phi * p_s <= p and 0 < R and 0 <= x < 1",
    example="rho(p=101.325, T=20, phi=50, p_s=2.338) = 1.199",
    source="two ideal gases mixed; 0.04 % below real air",
)

fuel_density = relation(
    "rho = rho_1 * (1 - beta * (T - T_1))",
    name="fuel_density",
    rho=("kg/m^3", "density of the fuel"),
    rho_1=("kg/m^3", "its density at the reference temperature"),
    T=("degC", "temperature of the fuel"),
    beta=("1/dK", "share of its density it loses for each kelvin", 0.00100),
    T_1=("degC", "reference temperature", 15),
    valid="0 < rho_1 and 0 <= beta and beta * (T - T_1) < 1",
    example="rho(rho_1=740, T=20) = 736.3",
    source="straight line; 0.001 per kelvin for gasoline from memory, illustrative",
)

fuel_viscosity = relation(
    "nu = nu_1 * exp(B * (1 / T - 1 / T_1))",
    name="fuel_viscosity",
    nu=("mm^2/s", "kinematic viscosity of the fuel"),
    nu_1=("mm^2/s", "its viscosity at the reference temperature"),
    T=("degC", "temperature of the fuel"),
    B=("K", "how fast it thins as it warms", 1000),
    T_1=("degC", "reference temperature", 20),
    valid="0 < nu_1 and 0 < T and 0 <= B and 0 < T_1",
    example="nu(nu_1=0.60, T=0) = 0.770",
    source="Arrhenius form; the coefficient from memory, illustrative",
)

flow_velocity = relation(
    "v = m / (rho * A)",
    name="flow_velocity",
    v=("m/s", "velocity in a passage, the same over its whole area"),
    m=("g/s", "flow by mass"),
    rho=("kg/m^3", "density of what flows, in that passage"),
    A=("mm^2", "area of the passage"),
    valid="0 <= m and 0 < rho and 0 < A",
    example="v(m=4250, rho=850, A=2827.433) = 1.768",
    source="continuity: volume a second over area",
)

depression_at_flow = relation(
    "delta_p_2 = delta_p_1 * (m_2 / m_1)**2",
    name="depression_at_flow",
    delta_p_2=("kPa", "depression, or pressure difference, at the second flow"),
    delta_p_1=("kPa", "that at the first flow"),
    m_1=("g/s", "first flow"),
    m_2=("g/s", "second flow"),
    valid="0 <= delta_p_1 and 0 < m_1 and 0 <= m_2",
    example="delta_p_2(delta_p_1=1.5, m_1=20, m_2=40) = 6.0",
    source="Bernoulli: same venturi or jet, density taken as constant; the square-root law turned round",
)

continuity_velocity = relation(
    "v_2 = v_1 * A_1 / A_2",
    name="continuity_velocity",
    v_2=("m/s", "velocity in the narrow place"),
    v_1=("m/s", "velocity in the wide place"),
    A_1=("mm^2", "area of the wide place"),
    A_2=("mm^2", "area of the narrow place"),
    valid="0 <= v_1 and 0 < A_1 and 0 < A_2",
    example="v_2(v_1=31.19, A_1=100, A_2=80) = 38.99",
    source="continuity: what goes in comes out; density taken as constant",
)

throat_drop = relation(
    "delta_p = rho / 2 * (v_2**2 - v_1**2)",
    name="throat_drop",
    delta_p=("Pa", "fall of pressure from the wide place to the narrow one"),
    v_1=("m/s", "velocity in the wide place"),
    v_2=("m/s", "velocity in the narrow place"),
    rho=("kg/m^3", "density of what flows"),
    valid="0 <= v_1 and v_1 <= v_2 and 0 < rho",
    example="delta_p(v_1=31.19, v_2=38.9875, rho=1.225) = 335.2",
    source="Bernoulli, no loss, density taken as constant",
)

velocity_of_approach = relation(
    "E = 1 / sqrt(1 - beta**4)",
    name="velocity_of_approach",
    E=("1", "factor by which the speed before the throat raises the flow"),
    beta=("1", "throat diameter over inlet diameter"),
    valid="0 <= beta < 1",
    example="E(beta=0.6) = 1.0719",
    source="continuity and Bernoulli; as in ISO 5167",
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

hydrocarbon_air_fuel_ratio = relation(
    "r = M_a * (1 + y / 4 - z / 2) / (x * (M_C + y * M_H + z * M_O))",
    name="hydrocarbon_air_fuel_ratio",
    r=("1", "stoichiometric air-fuel ratio by mass"),
    y=("1", "hydrogen atoms for each carbon atom"),
    z=("1", "oxygen atoms for each carbon atom", 0),
    M_a=("1", "molar mass of dry air, g/mol", 28.9647),
    x=("1", "oxygen in dry air, by mole", 0.20946),
    M_C=("1", "molar mass of carbon, g/mol", 12.011),
    M_H=("1", "molar mass of hydrogen, g/mol", 1.008),
    M_O=("1", "molar mass of oxygen, g/mol", 15.999),
    valid="0 <= y and 0 <= z and 0 < M_a and 0 < x < 1 and 0 < M_C and 0 < M_H and 0 < M_O and z / 2 <= 1 + y / 4",
    example="r(y=2.25) = 15.13",
    source="mass balance of complete burning to carbon dioxide and water; molar masses from memory",
)

analysed_air_fuel_ratio = relation(
    "r = (8/3 * c + 8 * h) / w",
    name="analysed_air_fuel_ratio",
    r=("1", "stoichiometric air-fuel ratio by mass"),
    c=("1", "carbon in the fuel, by mass"),
    h=("1", "hydrogen in the fuel, by mass"),
    w=("1", "oxygen in dry air, by mass", 0.2314),
    valid="0 <= c and 0 <= h and c + h <= 1 and 0 < w < 1",
    example="r(c=0.84, h=0.16, w=0.23) = 15.304",
    source="mass balance with masses 12, 1 and 32",
)

ethanol_mass_share = relation(
    "w = x * rho_2 / (x * rho_2 + (1 - x) * rho_1)",
    name="ethanol_mass_share",
    w=("1", "share of ethanol by mass"),
    x=("%", "share of ethanol by volume"),
    rho_1=("kg/m^3", "density of the gasoline", 745),
    rho_2=("kg/m^3", "density of the ethanol", 789),
    valid="0 <= x <= 1 and 0 < rho_1 and 0 < rho_2",
    example="w(x=10) = 0.10528",
    source="mass balance; densities at 20 °C, from memory",
)

displacement = relation(
    "V = pi/4 * D**2 * s * z",
    name="displacement",
    V=("L", "displacement of an engine"),
    z=("1", "number of cylinders"),
    D=("mm", "bore of a cylinder"),
    s=("mm", "stroke"),
    valid="0 < z and 0 < D and 0 < s",
    example="V(z=4, D=100, s=120) = 3.770",
    source="solid geometry: cylinders",
)

volumetric_efficiency = relation(
    "eta = 2 * m / (rho * V * n)",
    name="volumetric_efficiency",
    eta=("%", "volumetric efficiency of a four-stroke engine"),
    m=("g/s", "air flow"),
    V=("L", "displacement"),
    n=("rev/min", "speed"),
    rho=("kg/m^3", "density the efficiency is counted at"),
    valid="0 <= m and 0 < V and 0 < n and 0 < rho",
    example="eta(m=52.78, V=3.769911, n=2000, rho=1.2) = 70.0",
    source="definition: air drawn over what the cylinders would hold",
)

engine_air_at_manifold_pressure = relation(
    "m = eta * (1 - c * (n / n_0 - 1)**2) * (V * n / (2 * R * T)) * (max(p_m - x * p, 0) / (1 - x))",
    name="engine_air_at_manifold_pressure",
    m=("g/s", "air flow of a four-stroke engine"),
    V=("L", "displacement"),
    n=("rev/min", "speed"),
    p_m=("kPa", "absolute pressure in the manifold"),
    p=("kPa", "ambient pressure"),
    T=("K", "absolute temperature of the charge"),
    eta=("1", "volumetric efficiency at ambient pressure and the best speed"),
    n_0=("rev/min", "speed of the best volumetric efficiency"),
    c=("1", "how fast it falls off from there", 0.12),
    x=("1", "part of ambient pressure that burnt gas left in the cylinder holds", 0.22),
    R=("J/(kg*K)", "gas constant of dry air", AIR_CONSTANT),
    valid="0 < V and 0 <= n and 0 < p and 0 <= p_m <= p and 0 < T and 0 < eta and 0 < n_0 and 0 <= c and 0 <= x < 1 and 0 < R",
    example="m(V=3.7, n=2000, p_m=50.5, p=101.325, T=303.15, eta=0.84, n_0=2200) = 21.51",
    source="ideal gas, one filling in two revolutions, less what burnt gas takes; coefficients of this course, illustrative",
)
