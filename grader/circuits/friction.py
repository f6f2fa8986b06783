"""What friction takes: the viscosity of air, and the pressure that a pipe or a hose costs."""

from __future__ import annotations

from grader.relations.relation import relation

air_viscosity = relation(
    "mu = mu_0 * (T / T_0)**(3/2) * (T_0 + S) / (T + S)",
    name="air_viscosity",
    mu=("Pa*s", "viscosity of air"),
    T=("K", "absolute temperature"),
    mu_0=("Pa*s", "viscosity at the reference temperature", 1.78938e-5),
    T_0=("K", "reference temperature", 288.15),
    S=("K", "how much more than with the root of its temperature it thickens", 110.4),
    valid="0.35 <= T / T_0 <= 6.5 and 0 < mu_0 and 0 < T_0 and 0 < S",
    example="mu(T=293.15) = 0.000018134",
    source="Sutherland's law with the constants of the US Standard Atmosphere 1976; 0.4 % below real air at 20 °C",
)

laminar_friction_factor = relation(
    "f = 64 / N",
    name="laminar_friction_factor",
    f=("1", "friction factor of a round pipe, slow flow"),
    N=("1", "Reynolds number in it"),
    valid="0 < N <= 2300",
    example="f(N=1777.5) = 0.036006",
    source="G. Hagen, J. Poiseuille: exact for a long round pipe, as fluid mechanics texts derive it",
)

smooth_friction_factor = relation(
    "f = 0.3164 / N**(1/4)",
    name="smooth_friction_factor",
    f=("1", "friction factor of a smooth round pipe, fast flow"),
    N=("1", "Reynolds number in it"),
    valid="4000 <= N <= 100000",
    example="f(N=10000) = 0.03164",
    source="H. Blasius, as fluid mechanics texts print it, from memory; between 2300 and 4000 nothing is sure",
)

pipe_drop = relation(
    "delta_p = f * l / D * rho * v**2 / 2",
    name="pipe_drop",
    delta_p=("Pa", "pressure that friction costs along a pipe or a hose"),
    f=("1", "friction factor"),
    l=("m", "length"),
    D=("mm", "inside diameter"),
    rho=("kg/m^3", "density of what flows"),
    v=("m/s", "velocity in it"),
    valid="0 <= f and 0 <= l and 0 < D and 0 < rho and 0 <= v",
    example="delta_p(f=0.036006, l=9, D=3, rho=1000, v=0.9) = 43747",
    source="H. Darcy, J. Weisbach: drop in proportion to length and dynamic pressure; ends and bends left out",
)
