"""The float circuit: the balance at the needle, the level it holds, the fuel it lets in, and the air over the fuel."""

from __future__ import annotations

from grader.circuits.passages import bled_signal
from grader.circuits.principles import GRAVITY, jet_flow
from grader.relations.relation import relation

needle_force = relation(
    "F = pi/4 * D**2 * p",
    name="needle_force",
    F=("N", "force of the fuel on the needle"),
    D=("mm", "bore of the needle's seat"),
    p=("kPa", "fuel pressure at the seat"),
    valid="0 <= D and 0 <= p",
    example="F(D=2.5654, p=37.9211651) = 0.19601",
    source="pressure on an area",
)

buoyancy = relation(
    "F = rho * g * V",
    name="buoyancy",
    F=("N", "force with which fuel lifts a float"),
    V=("cm^3", "volume of the float below the surface"),
    rho=("kg/m^3", "density of the fuel"),
    g=("m/s^2", "acceleration of gravity", GRAVITY),
    valid="0 <= V and 0 < rho and 0 < g",
    example="F(V=25, rho=740) = 0.18142",
    source="hydrostatics: the weight of the fuel pushed aside",
)

closing_buoyancy = relation(
    "F = (needle_force(D, p) * l_n + W * l_w) / l_f",
    name="closing_buoyancy",
    uses=(needle_force,),
    F=("N", "lift of the float that just shuts the needle"),
    D=("mm", "bore of the needle's seat"),
    p=("kPa", "fuel pressure at the seat"),
    W=("N", "weight of the float with its arm"),
    l_n=("mm", "hinge to needle"),
    l_w=("mm", "hinge to the float's centre of weight"),
    l_f=("mm", "hinge to the float's centre of lift"),
    valid="0 <= D and 0 <= p and 0 <= W and 0 <= l_n and 0 <= l_w and 0 < l_f",
    example="F(D=2.3749, p=31.0264, W=0.133447, l_n=12.7, l_w=48.26, l_f=55.88) = 0.1465",
    source="balance of moments at the hinge; friction and the needle's own weight left out",
)

closing_submersion = relation(
    "h = min(closing_buoyancy(D, p, W, l_n, l_w, l_f) / (rho * g * A), H)",
    name="closing_submersion",
    uses=(closing_buoyancy,),
    h=("mm", "depth to which the float stands in the fuel when it just shuts the needle"),
    D=("mm", "bore of the needle's seat"),
    p=("kPa", "fuel pressure at the seat"),
    W=("N", "weight of the float with its arm"),
    l_n=("mm", "hinge to needle"),
    l_w=("mm", "hinge to the float's centre of weight"),
    l_f=("mm", "hinge to the float's centre of lift"),
    A=("mm^2", "plan area of the float"),
    H=("mm", "height of the float"),
    rho=("kg/m^3", "density of the fuel"),
    g=("m/s^2", "acceleration of gravity", GRAVITY),
    valid="0 <= D and 0 <= p and 0 <= W and 0 <= l_n and 0 <= l_w and 0 < l_f and 0 < A and 0 < H and 0 < rho and 0 < g",
    example="h(D=2.3749, p=31.0264, W=0.133447, l_n=12.7, l_w=48.26, l_f=55.88, A=1225.804, H=20.32, rho=736.3) = 16.55",
    source="balance of moments at the hinge and buoyancy of a float with upright sides; at its full height it can do no more",
)

float_depth = relation(
    "h = F / (rho * g * A)",
    name="float_depth",
    h=("mm", "depth at which the float stands in the fuel"),
    F=("N", "lift of the float"),
    A=("mm^2", "plan area of the float"),
    rho=("kg/m^3", "density of the fuel"),
    g=("m/s^2", "acceleration of gravity", GRAVITY),
    valid="0 <= F and 0 < A and 0 < rho and 0 < g",
    example="h(F=0.1465, A=1225.804, rho=736.3) = 16.55",
    source="hydrostatics; a float with upright sides, not wholly under",
)

greatest_float_weight = relation(
    "W = (F * l_f - needle_force(D, p) * l_n) / l_w",
    name="greatest_float_weight",
    uses=(needle_force,),
    W=("N", "weight at which the float, wholly under, can only just shut the needle"),
    F=("N", "lift of the float wholly under"),
    D=("mm", "bore of the needle's seat"),
    p=("kPa", "fuel pressure at the seat"),
    l_n=("mm", "hinge to needle"),
    l_w=("mm", "hinge to the float's centre of weight"),
    l_f=("mm", "hinge to the float's centre of lift"),
    valid="0 <= F and 0 <= D and 0 <= p and 0 <= l_n and 0 < l_w and 0 <= l_f",
    example="W(F=0.17985, D=2.3749, p=31.0264, l_n=12.7, l_w=48.26, l_f=55.88) = 0.1721",
    source="balance of moments at the hinge, the float wholly in the fuel",
)

greatest_fuel_pressure = relation(
    "p = 4 * (rho * g * A * H * l_f - W * l_w) / (pi * D**2 * l_n)",
    name="greatest_fuel_pressure",
    p=("psi", "greatest fuel pressure that the float holds"),
    rho=("kg/m^3", "density of the fuel"),
    A=("in^2", "plan area of the float"),
    H=("in", "height of the float"),
    W=("lbf", "weight of the float with its arm"),
    D=("in", "bore of the needle's seat"),
    l_n=("in", "hinge to needle"),
    l_w=("in", "hinge to the float's centre of weight"),
    l_f=("in", "hinge to the float's centre of lift"),
    g=("m/s^2", "acceleration of gravity", GRAVITY),
    valid="0 < rho and 0 < A and 0 < H and 0 <= W and 0 < D and 0 < l_n and 0 <= l_w and 0 < l_f and 0 < g"
    " and W * l_w <= rho * g * A * H * l_f",
    example="p(rho=736.3, A=1.9, H=0.8, W=0.03, D=0.0935, l_n=0.5, l_w=1.9, l_f=2.2) = 9.307",
    source="balance of moments at the hinge, the float wholly in the fuel",
)

level_rise_for_pressure = relation(
    "e = pi * D**2 * (p_2 - p_1) * l_n / (4 * l_f * rho * g * A)",
    name="level_rise_for_pressure",
    e=("mm", "rise of the level"),
    D=("mm", "bore of the needle's seat"),
    p_1=("kPa", "fuel pressure at which the level was set"),
    p_2=("kPa", "fuel pressure now"),
    l_n=("mm", "hinge to needle"),
    l_f=("mm", "hinge to the float's centre of lift"),
    A=("mm^2", "plan area of the float"),
    rho=("kg/m^3", "density of the fuel"),
    g=("m/s^2", "acceleration of gravity", GRAVITY),
    valid="0 <= D and 0 <= p_1 and 0 <= p_2 and 0 <= l_n and 0 < l_f and 0 < A and 0 < rho and 0 < g",
    example="e(D=2.3749, p_1=31.0264, p_2=58.6055, l_n=12.7, l_f=55.88, A=1225.804, rho=736.3) = 3.137",
    source="balance of moments at the hinge, twice",
)

level_rise_for_weight = relation(
    "e = (W_2 - W_1) * l_w / (l_f * rho * g * A)",
    name="level_rise_for_weight",
    e=("mm", "rise of the level"),
    W_1=("N", "weight of the float when the level was set"),
    W_2=("N", "weight of the float now, with the fuel in it"),
    l_w=("mm", "hinge to the float's centre of weight"),
    l_f=("mm", "hinge to the float's centre of lift"),
    A=("mm^2", "plan area of the float"),
    rho=("kg/m^3", "density of the fuel"),
    g=("m/s^2", "acceleration of gravity", GRAVITY),
    valid="0 <= W_1 and 0 <= W_2 and 0 <= l_w and 0 < l_f and 0 < A and 0 < rho and 0 < g",
    example="e(W_1=0.133447, W_2=0.213515, l_w=48.26, l_f=55.88, A=1225.804, rho=736.3) = 7.813",
    source="balance of moments at the hinge, twice",
)

needle_travel = relation(
    "y = s * l_n / l_f",
    name="needle_travel",
    y=("mm", "how far the needle lifts off its seat"),
    s=("mm", "how far the float falls from where the needle shuts"),
    l_n=("mm", "hinge to needle"),
    l_f=("mm", "hinge to the float's centre"),
    valid="0 <= s and 0 <= l_n and 0 < l_f",
    example="y(s=5.08, l_n=12.7, l_f=55.88) = 1.155",
    source="lever; for small angles",
)

inlet_flow = relation(
    "m = x * jet_flow(C_d, min(pi * D * y, pi/4 * D**2), rho, p)",
    name="inlet_flow",
    uses=(jet_flow,),
    m=("g/s", "fuel that passes needle and seat"),
    C_d=("1", "discharge coefficient of needle and seat"),
    D=("mm", "bore of the needle's seat"),
    y=("mm", "how far the needle stands off its seat"),
    rho=("kg/m^3", "density of the fuel"),
    p=("kPa", "fuel pressure at the seat"),
    x=("1", "share of the inlet that is not blocked", 1.0),
    valid="0 < C_d <= 1 and 0 <= D and 0 <= y and 0 < rho and 0 <= p and 0 <= x <= 1",
    example="m(C_d=0.65, D=2.3749, y=1.143, rho=736.3, p=31.0264) = 19.46",
    source="Bernoulli through the ring between needle and seat, or through the seat where that is the smaller",
)

supply_flow = relation(
    "m = V * rho / t",
    name="supply_flow",
    m=("g/s", "fuel that pump, line and filter deliver"),
    V=("cm^3", "volume caught in the can"),
    rho=("kg/m^3", "density of the fuel"),
    t=("s", "time of the test"),
    valid="0 <= V and 0 < rho and 0 < t",
    example="m(V=200, rho=740, t=30) = 4.933",
    source="definition",
)

needle_lift = relation(
    "y = min(m / (C_d * pi * D * sqrt(2 * rho * p)), y_m)",
    name="needle_lift",
    y=("mm", "how far the needle stands off its seat to let a flow in"),
    m=("g/s", "fuel flow"),
    C_d=("1", "discharge coefficient of needle and seat"),
    D=("mm", "bore of the needle's seat"),
    rho=("kg/m^3", "density of the fuel"),
    p=("kPa", "fuel pressure at the seat"),
    y_m=("mm", "lift of the needle at full drop"),
    valid="0 <= m and 0 < C_d <= 1 and 0 < D and 0 < rho and 0 < p and 0 <= y_m",
    example="y(m=2, C_d=0.65, D=2.3749, rho=736.3, p=31.0264, y_m=1.143) = 0.06101",
    source="Bernoulli through the ring between needle and seat, turned round",
)

level_above_set = relation(
    "e = h - h_0 - y * l_f / l_n",
    name="level_above_set",
    e=("mm", "level of the fuel above that which was set"),
    h=("mm", "depth of the float that shuts the needle now"),
    h_0=("mm", "depth of the float that shut it when the level was set"),
    y=("mm", "how far the needle stands off its seat to let the fuel in"),
    l_f=("mm", "hinge to the float's centre of lift"),
    l_n=("mm", "hinge to needle"),
    valid="0 <= h and 0 <= h_0 and 0 <= y and 0 < l_f and 0 < l_n",
    example="e(h=16, h_0=15.5, y=0.05, l_f=55.88, l_n=12.7) = 0.2800",
    source="lever and depth; the float hangs lower while fuel flows in",
)

spill_height = relation(
    "h = h_0 - e",
    name="spill_height",
    h=("mm", "height of the nozzle's spill above the fuel now"),
    h_0=("mm", "height of the nozzle's spill above the set level"),
    e=("mm", "level of the fuel above that which was set, negative below"),
    valid="0 <= h_0",
    example="h(h_0=7.62, e=3.175) = 4.445",
    source="definition",
)

level_mixture = relation(
    "r_2 = r_1 * sqrt((delta_p - rho * g * h) / (delta_p - rho * g * (h - e)))",
    name="level_mixture",
    r_2=("1", "air-fuel ratio after the level has moved"),
    r_1=("1", "air-fuel ratio at the set level"),
    delta_p=("Pa", "depression at the nozzle"),
    rho=("kg/m^3", "density of the fuel"),
    h=("mm", "height of the nozzle's spill above the set level"),
    e=("mm", "rise of the level, negative for a fall"),
    g=("m/s^2", "acceleration of gravity", GRAVITY),
    valid="0 < r_1 and 0 < rho and 0 < g and rho * g * h <= delta_p and 0 < delta_p - rho * g * (h - e)",
    example="r_2(r_1=14.7, delta_p=500, rho=740, h=7.62, e=3.175) = 14.33",
    source="square-root law: fuel goes with the root of depression less head; the idle circuit's share left out",
)

bowl_depression = relation(
    "delta_p_b = bled_signal(delta_p, A_s, A_v) - x * delta_p_c",
    name="bowl_depression",
    uses=(bled_signal,),
    delta_p_b=("Pa", "how far the air in the bowl lies below that in the air horn"),
    delta_p=("Pa", "depression at the venturi"),
    A_s=("mm^2", "area of the leak from the bowl to the venturi, past worn seals"),
    A_v=("mm^2", "area of the bowl's vent"),
    delta_p_c=("Pa", "drop of pressure through the air cleaner"),
    x=("1", "share of the vent that opens outside: 0 balanced, 1 outside", 0.0),
    valid="0 <= delta_p and 0 <= A_s and 0 < A_v and 0 <= delta_p_c and 0 <= x <= 1",
    example="delta_p_b(delta_p=1500, A_s=0.258, A_v=0.3226, delta_p_c=200, x=0) = 585.1",
    source="two openings in series: each takes its part of the depression as its area squared; illustrative",
)
