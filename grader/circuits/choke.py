"""The choke: the torques on the plate, the coil that closes it, how it warms, and what the pull-off opens."""

from __future__ import annotations

from grader.relations.relation import relation

air_torque = relation(
    "M = pi/4 * D**2 * k * delta_p * e * cos(psi_0 + theta)",
    name="air_torque",
    M=("N*m", "opening torque of the air stream on an offset plate"),
    delta_p=("Pa", "drop of pressure across the plate"),
    D=("mm", "bore of the air horn at the plate"),
    e=("mm", "offset of the shaft from the middle of the plate"),
    psi_0=("deg", "angle of the closed plate, from square to the bore"),
    theta=("deg", "choke opening from there"),
    k=("1", "air torque factor", 1.0),
    valid="0 <= delta_p and 0 < D and 0 <= e and 2 * e < D and 0 <= psi_0 and 0 <= theta and psi_0 + theta <= pi/2 and 0 < k",
    example="M(delta_p=1500, D=48.26, e=2.032, psi_0=15, theta=20) = 0.004567",
    source="pressure on the plate's shadow, at the arm of its offset; the factor is illustrative",
)

coil_free_angle = relation(
    "theta_f = s * (T - T_0) + theta_i",
    name="coil_free_angle",
    theta_f=("deg", "choke opening at which the coil pushes neither way"),
    s=("deg/dK", "turn of the coil for each kelvin"),
    T=("degC", "temperature of the coil"),
    T_0=("degC", "temperature at which the coil just shuts the plate, cover at its mark"),
    theta_i=("deg", "what the cover is turned from its mark, lean positive", 0.0),
    valid="0 < s",
    example="theta_f(s=1.5, T=35, T_0=20, theta_i=0) = 22.5",
    source="a coil turns in proportion to its temperature; its rate is the sheet's",
)

coil_temperature_for_opening = relation(
    "T = T_0 + (theta - theta_i) / s",
    name="coil_temperature_for_opening",
    T=("degC", "temperature at which the coil lets the plate stand at an opening"),
    theta=("deg", "choke opening"),
    T_0=("degC", "temperature at which the coil just shuts the plate, cover at its mark"),
    s=("deg/dK", "turn of the coil for each kelvin"),
    theta_i=("deg", "what the cover is turned from its mark, lean positive", 0.0),
    valid="0 < s",
    example="T(theta=22.5, T_0=20, s=1.5, theta_i=0) = 35",
    source="a coil turns in proportion to its temperature, turned round",
)

coil_torque = relation(
    "M = k * (theta - theta_f)",
    name="coil_torque",
    M=("N*m", "closing torque of the coil, negative where it opens"),
    k=("N*m/rad", "rate of the coil"),
    theta=("deg", "choke opening"),
    theta_f=("deg", "choke opening at which the coil pushes neither way"),
    valid="0 < k",
    example="M(k=0.012, theta=20, theta_f=-15) = 0.007330",
    source="spring law",
)

vacuum_break_torque = relation(
    "M = k * max(theta_v - theta, 0) if delta_p > delta_p_0 else 0",
    name="vacuum_break_torque",
    M=("N*m", "opening torque of the vacuum break"),
    k=("N*m/rad", "rate of the spring in its stem; large for a stem without one"),
    theta_v=("deg", "choke opening to which it pulls"),
    theta=("deg", "choke opening"),
    delta_p=("inHg", "manifold vacuum"),
    delta_p_0=("inHg", "vacuum above which it acts", 5),
    valid="0 <= k and 0 <= theta_v and 0 <= theta and 0 <= delta_p and 0 <= delta_p_0",
    example="M(k=0.05, theta_v=38, theta=20, delta_p=15) = 0.01571",
    source="spring law, pulling and never pushing; the vacuum is illustrative",
)

pull_off_torque = relation(
    "M = pi/4 * D**2 * delta_p * l",
    name="pull_off_torque",
    M=("N*m", "opening torque of a vacuum piston or diaphragm"),
    D=("mm", "its working diameter"),
    delta_p=("inHg", "vacuum on it"),
    l=("mm", "lever on the choke shaft, square to the pull"),
    valid="0 < D and 0 <= delta_p and 0 < l",
    example="M(D=12.7, delta_p=10, l=10) = 0.04290",
    source="pressure on an area, times its arm",
)

pulled_off_angle = relation(
    "theta = (k_c * theta_f + k_v * theta_v + M_a) / (k_c + k_v)",
    name="pulled_off_angle",
    theta=("deg", "choke opening at which coil, air stream and the spring in the stem balance"),
    k_c=("N*m/rad", "rate of the coil"),
    theta_f=("deg", "choke opening at which the coil pushes neither way"),
    k_v=("N*m/rad", "rate of the spring in the stem"),
    theta_v=("deg", "choke opening to which the stem pulls"),
    M_a=("N*m", "opening torque of the air stream", 0.0),
    valid="0 < k_c and 0 < k_v and 0 <= M_a and M_a <= k_c * (theta_v - theta_f) and 0 <= k_c * theta_f + k_v * theta_v + M_a",
    example="theta(k_c=0.012, theta_f=-30, k_v=0.05, theta_v=38, M_a=0) = 24.84",
    source="balance of moments at the shaft, two springs pulling against each other",
)

choke_opening_torque = relation(
    "M = M_a + M_v - M_c",
    name="choke_opening_torque",
    M=("N*m", "what is left to open the plate: it moves until this is 0, or rests on a stop"),
    M_a=("N*m", "opening torque of the air stream"),
    M_v=("N*m", "opening torque of the vacuum break"),
    M_c=("N*m", "closing torque of the coil"),
    valid="0 <= M_a and 0 <= M_v",
    example="M(M_a=0.0046, M_v=0.0157, M_c=0.0073) = 0.0130",
    source="balance of moments at the shaft; the plate's weight and friction left out",
)

pressure_below_choke = relation(
    "p = sqrt(p_u * (p_u - (m / (C_d * A))**2 / rho))",
    name="pressure_below_choke",
    p=("kPa", "absolute pressure below the choke plate"),
    p_u=("kPa", "absolute pressure above it"),
    m=("g/s", "air flow through one barrel"),
    C_d=("1", "discharge coefficient of the plate's opening"),
    A=("mm^2", "area that the plate leaves open"),
    rho=("kg/m^3", "density of the air"),
    valid="0 < p_u and 0 <= m and 0 < C_d <= 1 and 0 < A and 0 < rho and (m / (C_d * A))**2 / rho <= p_u",
    example="p(p_u=101.325, m=8, C_d=0.7, A=250, rho=1.225) = 100.5",
    source="square-root law with the mean of the densities before and after; model of this course",
)

coil_temperature = relation(
    "T = T_e + (T_0 - T_e) * exp(-t / tau)",
    name="coil_temperature",
    T=("degC", "temperature of the coil"),
    t=("s", "time from the start"),
    T_0=("degC", "temperature of the coil at the start"),
    T_e=("degC", "temperature that it comes to"),
    tau=("s", "time constant"),
    valid="0 <= t and 0 < tau",
    example="T(t=1, T_0=25, T_e=200, tau=1) = 135.62",
    source="first-order lag: heat flows in proportion to the difference that is left",
)

warm_up_time = relation(
    "t = tau * log((T_e - T_0) / (T_e - T))",
    name="warm_up_time",
    t=("s", "time in which the coil comes to a temperature"),
    T=("degC", "temperature of the coil to be reached"),
    T_0=("degC", "temperature of the coil at the start"),
    T_e=("degC", "temperature that it would come to"),
    tau=("s", "time constant"),
    valid="T_0 <= T and T < T_e and 0 < tau",
    example="t(T=199, T_0=25, T_e=200, tau=1) = 5.165",
    source="first-order lag, turned round",
)

coil_end_temperature = relation(
    "T_e = T_a + T_r + x * R_h * P",
    name="coil_end_temperature",
    T_e=("degC", "temperature that the coil comes to"),
    T_a=("degC", "temperature of the air round it"),
    T_r=("dK", "rise that hot air from the exhaust gives"),
    P=("W", "power of the electric heater, all of it on"),
    R_h=("dK/W", "rise for each watt of the heater"),
    x=("1", "share of the heater that is on", 1.0),
    valid="0 <= T_r and 0 <= P and 0 <= R_h and 0 <= x <= 1",
    example="T_e(T_a=15, T_r=30, P=24, R_h=1.25, x=1) = 75",
    source="balance of heat: two rises add; model of this course",
)

heater_power = relation(
    "P = U**2 / R",
    name="heater_power",
    P=("W", "power of the electric heater"),
    U=("V", "voltage at its terminals"),
    R=("ohm", "resistance, hot"),
    valid="0 <= U and 0 < R",
    example="P(U=13.8, R=8) = 23.805",
    source="Ohm's law; a resistance read cold is not the hot one",
)

heater_current = relation(
    "I = U / R",
    name="heater_current",
    I=("A", "current through the electric heater"),
    U=("V", "voltage at its terminals"),
    R=("ohm", "resistance, hot"),
    valid="0 <= U and 0 < R",
    example="I(U=13.8, R=8) = 1.725",
    source="Ohm's law; a resistance read cold is not the hot one",
)

vacuum_break_gap = relation(
    "s = (D/2 + e) * (1 - cos(psi_0 + theta) / cos(psi_0))",
    name="vacuum_break_gap",
    s=("mm", "gap between the plate's long side and the wall, square to the wall"),
    D=("mm", "bore of the air horn at the plate"),
    e=("mm", "offset of the shaft from the middle of the plate"),
    psi_0=("deg", "angle of the closed plate, from square to the bore"),
    theta=("deg", "choke opening from there"),
    valid="0 < D and 0 <= e and 2 * e < D and 0 <= psi_0 and 0 <= theta and psi_0 + theta <= pi/2",
    example="s(D=48.26, e=2.032, psi_0=15, theta=20) = 3.975",
    source="plane geometry: the long side shortens in the bore as the cosine of its angle",
)

vacuum_break_angle = relation(
    "theta = acos((1 - s / (D/2 + e)) * cos(psi_0)) - psi_0",
    name="vacuum_break_angle",
    theta=("deg", "choke opening that a gap belongs to"),
    s=("mm", "gap between the plate's long side and the wall, square to the wall"),
    D=("mm", "bore of the air horn at the plate"),
    e=("mm", "offset of the shaft from the middle of the plate"),
    psi_0=("deg", "angle of the closed plate, from square to the bore"),
    valid="0 < D and 0 <= e and 2 * e < D and 0 <= psi_0 < pi/2 and 0 <= s and s <= D/2 + e",
    example="theta(s=4, D=48.26, e=2.032, psi_0=15) = 20.09",
    source="plane geometry: the long side shortens in the bore as the cosine of its angle, turned round",
)

rod_turn = relation(
    "theta = s / l",
    name="rod_turn",
    theta=("deg", "by how much a choke rod turns the plate"),
    s=("mm", "change of the rod's length, or of what it stands on"),
    l=("mm", "length of the lever on the shaft"),
    valid="0 < l",
    example="theta(s=0.794, l=19.05) = 2.388",
    source="lever, rod square to it; for small angles",
)

flexivity = relation(
    "F = 6 * (alpha_2 - alpha_1) * (1 + m)**2 / (3 * (1 + m)**2 + (1 + m * n) * (m**2 + 1 / (m * n)))",
    name="flexivity",
    F=("1/dK", "bend of a two-layer strip: curvature times thickness for each kelvin"),
    alpha_1=("1/dK", "expansion of the layer that grows less"),
    alpha_2=("1/dK", "expansion of the layer that grows more"),
    m=("1", "thickness of the first layer over that of the second"),
    n=("1", "stiffness of the first layer over that of the second"),
    valid="0 < m and 0 < n",
    example="F(alpha_1=1.5e-6, alpha_2=19e-6, m=1, n=0.857142857) = 0.00002621",
    source="S. Timoshenko 1925, from memory; checked against the beam solved directly",
)

bimetal_turn = relation(
    "theta = F * L * delta_T / t",
    name="bimetal_turn",
    theta=("deg", "turn of a free bimetal coil"),
    F=("1/dK", "flexivity of the strip"),
    L=("mm", "length of the strip"),
    delta_T=("dK", "change of temperature"),
    t=("mm", "thickness of the strip"),
    valid="0 <= F and 0 <= L and 0 < t",
    example="theta(F=27e-6, L=500, delta_T=40, t=0.5) = 61.879",
    source="definition of flexivity, with plane geometry; trade tables multiply by an empirical factor, the sheet decides",
)

bimetal_rate = relation(
    "k = E * b * t**3 / (12 * L)",
    name="bimetal_rate",
    k=("N*m/rad", "torque of a bimetal coil for each radian it is held back"),
    E=("N/mm^2", "stiffness of the strip (modulus of elasticity)"),
    b=("mm", "width of the strip"),
    t=("mm", "thickness of the strip"),
    L=("mm", "length of the strip"),
    valid="0 < E and 0 < b and 0 < t and 0 < L",
    example="k(E=170000, b=6, t=0.5, L=500) = 0.02125",
    source="bending of a flat strip",
)
