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

isentropic_flow = relation(
    "m = C_d * A * p_u / sqrt(R * T) * ("
    "(p_d / p_u)**(1 / gamma) * sqrt(2 * gamma / (gamma - 1) * (1 - (p_d / p_u)**((gamma - 1) / gamma)))"
    " if p_d / p_u > critical_ratio(gamma)"
    " else sqrt(gamma) * (2 / (gamma + 1))**((gamma + 1) / (2 * (gamma - 1))))",
    name="isentropic_flow",
    uses=(critical_ratio,),
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
