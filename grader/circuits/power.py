"""Metering rods and enrichment: the ring a rod leaves open, the vacuum that holds the rods down, and what altitude does."""

from __future__ import annotations

from grader.relations.relation import relation

open_area = relation(
    "A = pi/4 * (D**2 - d**2)",
    name="open_area",
    A=("mm^2", "open area of the jet round the rod"),
    D=("mm", "bore of the jet"),
    d=("mm", "diameter of the rod step in the jet"),
    valid="0 <= d < D",
    example="A(D=2.41, d=1.70) = 2.292",
    source="plane geometry: circle less circle",
)

open_area_ratio = relation(
    "k = (D**2 - d_p**2) / (D**2 - d_c**2)",
    name="open_area_ratio",
    k=("1", "open area at the power step over that at the cruise step"),
    D=("mm", "bore of the jet"),
    d_c=("mm", "diameter of the rod's cruise step"),
    d_p=("mm", "diameter of the rod's power step"),
    valid="0 <= d_p and d_p <= d_c and d_c < D",
    example="k(D=2.362, d_c=1.778, d_p=1.549) = 1.315",
    source="plane geometry: circle less circle, twice",
)

piston_force = relation(
    "F = pi/4 * D**2 * delta_p",
    name="piston_force",
    F=("N", "force with which vacuum pulls the piston down"),
    D=("mm", "diameter of the vacuum piston"),
    delta_p=("kPa", "manifold vacuum"),
    valid="0 <= D and 0 <= delta_p",
    example="F(D=9.525, delta_p=50.79583) = 3.619",
    source="pressure on an area",
)

lifting_vacuum = relation(
    "delta_p = 4 * (F_0 - W) / (pi * D**2)",
    name="lifting_vacuum",
    delta_p=("inHg", "manifold vacuum at which the spring begins to lift the rods"),
    F_0=("lbf", "force of the spring with the rods down"),
    W=("lbf", "weight of piston and rods"),
    D=("in", "diameter of the vacuum piston"),
    valid="0 <= W and W <= F_0 and 0 < D",
    example="delta_p(F_0=0.45, W=0.02, D=0.375) = 7.927",
    source="balance of spring, weight and vacuum on the piston; friction left out",
)

rod_lift = relation(
    "y = min(max((F_0 - W - pi/4 * D**2 * delta_p) / k, 0), y_m)",
    name="rod_lift",
    y=("in", "lift of the rods"),
    F_0=("lbf", "force of the spring with the rods down"),
    W=("lbf", "weight of piston and rods"),
    D=("in", "diameter of the vacuum piston"),
    delta_p=("inHg", "manifold vacuum"),
    k=("lbf/in", "rate of the spring"),
    y_m=("in", "greatest lift"),
    valid="0 <= F_0 and 0 <= W and 0 < D and 0 <= delta_p and 0 < k and 0 <= y_m",
    example="y(F_0=0.45, W=0.02, D=0.375, delta_p=6, k=1.6, y_m=0.14) = 0.0653",
    source="balance of spring, weight and vacuum on the piston, held by its two stops; friction left out",
)

altitude_enrichment = relation(
    "e = 1 / sqrt(sigma) - 1",
    name="altitude_enrichment",
    e=("%", "by how much fuel per air rises where the air is thinner"),
    sigma=("1", "air density over that at which the mixture was set"),
    valid="0 < sigma <= 1",
    example="e(sigma=0.88809) = 6.11",
    source="square-root laws of air and fuel at one depression",
)

altitude_mixture = relation(
    "r_2 = r_1 * sqrt(sigma)",
    name="altitude_mixture",
    r_2=("1", "air-fuel ratio in the thinner air, nothing corrected"),
    r_1=("1", "air-fuel ratio where the mixture was set"),
    sigma=("1", "air density over that at which the mixture was set"),
    valid="0 < r_1 and 0 < sigma",
    example="r_2(r_1=14.7, sigma=0.88809) = 13.85",
    source="square-root laws of air and fuel at one depression",
)

altitude_jet_area = relation(
    "A_2 = A_1 * sqrt(sigma)",
    name="altitude_jet_area",
    A_2=("mm^2", "open area that restores the mixture"),
    A_1=("mm^2", "open area at which the mixture was right"),
    sigma=("1", "air density over that at which the mixture was set"),
    valid="0 < A_1 and 0 < sigma",
    example="A_2(A_1=2.29843, sigma=0.88809) = 2.166",
    source="square-root laws of air and fuel at one depression",
)

altitude_jet_bore = relation(
    "D_2 = D_1 * sigma**(1/4)",
    name="altitude_jet_bore",
    D_2=("mm", "bore of an open jet that restores the mixture"),
    D_1=("mm", "bore of the jet at which the mixture was right"),
    sigma=("1", "air density over that at which the mixture was set"),
    valid="0 < D_1 and 0 < sigma",
    example="D_2(D_1=2.36, sigma=0.88809) = 2.291",
    source="square-root laws of air and fuel at one depression; area goes with the bore squared",
)

lifter_lift = relation(
    "y = y_0 + k * (theta - theta_0)",
    name="lifter_lift",
    y=("in", "lift that the throttle linkage gives the rods; none where it is negative"),
    y_0=("in", "offset of the lifter tab"),
    k=("in/deg", "lift for each degree of throttle"),
    theta=("deg", "throttle opening"),
    theta_0=("deg", "throttle opening at which it starts"),
    valid="0 <= k and 0 <= theta and 0 <= theta_0",
    example="y(y_0=0, k=0.0028, theta=60, theta_0=25) = 0.09800",
    source="lever; a straight line, illustrative",
)

hanger_lift = relation(
    "y = min(max(y_v, y_l, 0), y_m)",
    name="hanger_lift",
    y=("in", "lift of the rods, from piston and linkage together"),
    y_v=("in", "lift that the vacuum piston allows"),
    y_l=("in", "lift that the lifter gives"),
    y_m=("in", "greatest lift"),
    valid="0 <= y_m",
    example="y(y_v=0.0653, y_l=0.098, y_m=0.14) = 0.098",
    source="the higher of the two carries the hanger, between its stops",
)

rod_diameter_between = relation(
    "d = d_1 + (d_2 - d_1) * min(max((y - y_1) / (y_2 - y_1), 0), 1)",
    name="rod_diameter_between",
    d=("in", "diameter of the rod in the jet"),
    y=("in", "lift of the rod"),
    y_1=("in", "lift at which the thicker step ends"),
    d_1=("in", "diameter of the thicker step"),
    y_2=("in", "lift at which the thinner step begins"),
    d_2=("in", "diameter of the thinner step"),
    valid="0 <= y and 0 <= y_1 and y_1 < y_2 and 0 <= d_2 and d_2 <= d_1",
    example="d(y=0.07, y_1=0.06, d_1=0.070, y_2=0.08, d_2=0.061) = 0.0655",
    source="plane geometry: a straight taper between two steps",
)

coil_spring_rate = relation(
    "k = G * d**4 / (8 * D**3 * n)",
    name="coil_spring_rate",
    k=("lbf/in", "rate of a coil spring"),
    G=("psi", "stiffness of the wire in shear"),
    d=("in", "diameter of the wire"),
    D=("in", "mean diameter of the coils"),
    n=("1", "coils that move"),
    valid="0 < G and 0 < d and d < D and 0 < n",
    example="k(G=11850000, d=0.105, D=0.620, n=10.792) = 70.0",
    source="torsion of the wire; a coil cut off or stuck makes a spring stiffer, not weaker",
)

spring_force = relation(
    "F = F_0 - k * y",
    name="spring_force",
    F=("lbf", "force of the spring at a lift"),
    F_0=("lbf", "force of the spring with the rods down"),
    k=("lbf/in", "rate of the spring"),
    y=("in", "lift of the rods"),
    valid="0 <= F_0 and 0 <= k and 0 <= y and k * y <= F_0",
    example="F(F_0=0.45, k=1.6, y=0.06) = 0.354",
    source="spring law: it slackens as it lifts",
)

altitude_bleed_area = relation(
    "A_x = sqrt((A**2 + A_b**2) / sigma - A**2) - A_b",
    name="altitude_bleed_area",
    A_x=("mm^2", "area of extra bleed that restores the mixture"),
    A=("mm^2", "nozzle, area times coefficient where the two differ"),
    A_b=("mm^2", "bleed that is always open, likewise"),
    sigma=("1", "air density over that at which the mixture was set"),
    valid="0 < A and 0 <= A_b and 0 < sigma <= 1",
    example="A_x(A=7.917, A_b=1.533, sigma=0.88809) = 1.714",
    source="signal shared as the squares of the areas, brought to sigma times what it was; no fuel in the nozzle: a first guess",
)
