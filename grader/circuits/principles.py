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
