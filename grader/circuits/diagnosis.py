"""Diagnosis: what a measured mixture says against the healthy one, as a share and as an amount of air or fuel."""

from __future__ import annotations

from grader.relations.relation import relation

mixture_change = relation(
    "c = r / r_0 - 1",
    name="mixture_change",
    c=("%", "change of the air-fuel ratio: above 0 leaner, below 0 richer"),
    r=("1", "air-fuel ratio measured"),
    r_0=("1", "air-fuel ratio of the healthy carburetor at the same point"),
    valid="0 < r and 0 < r_0",
    example="c(r=16.8, r_0=14) = 20",
    source="definition: the measured ratio against the healthy one",
)

fuel_share = relation(
    "s = r_0 / r",
    name="fuel_share",
    s=("%", "fuel that the engine gets, over what it should get with the same air"),
    r=("1", "air-fuel ratio measured"),
    r_0=("1", "air-fuel ratio of the healthy carburetor at the same point"),
    valid="0 < r and 0 < r_0",
    example="s(r=17.5, r_0=14) = 80",
    source="definition of the air-fuel ratio, twice with one air flow",
)

missing_fuel = relation(
    "m_x = m * (1 / r_0 - 1 / r)",
    name="missing_fuel",
    m_x=("g/s", "fuel that is missing; below 0 the fuel that is too much"),
    m=("g/s", "air flow of the engine"),
    r_0=("1", "air-fuel ratio of the healthy carburetor at the same point"),
    r=("1", "air-fuel ratio measured"),
    valid="0 <= m and 0 < r and 0 < r_0",
    example="m_x(m=21, r_0=14, r=17.5) = 0.3",
    source="definition of the air-fuel ratio, twice with one air flow",
)

leaked_air = relation(
    "m_l = m * (r / r_0 - 1)",
    name="leaked_air",
    m_l=("g/s", "air that comes in past the carburetor"),
    m=("g/s", "air flow through the carburetor"),
    r=("1", "air-fuel ratio measured"),
    r_0=("1", "air-fuel ratio of the healthy carburetor at the same point"),
    valid="0 <= m and 0 < r_0 <= r",
    example="m_l(m=5, r=16.8, r_0=14) = 1",
    source="definition of the air-fuel ratio: the carburetor gives its fuel to its own air; what leaks in brings none",
)

leaked_mixture = relation(
    "r = r_0 * (m + m_l) / m",
    name="leaked_mixture",
    r=("1", "air-fuel ratio that the engine gets"),
    r_0=("1", "air-fuel ratio that the carburetor gives"),
    m=("g/s", "air flow through the carburetor"),
    m_l=("g/s", "air that comes in past the carburetor"),
    valid="0 < m and 0 <= m_l and 0 < r_0",
    example="r(r_0=14, m=20, m_l=1) = 14.7",
    source="definition of the air-fuel ratio: the carburetor gives its fuel to its own air; what leaks in brings none",
)

compression_evenness = relation(
    "s = p_1 / p_2",
    name="compression_evenness",
    s=("%", "lowest compression reading over the highest"),
    p_1=("psi", "lowest reading of all cylinders"),
    p_2=("psi", "highest reading of all cylinders"),
    valid="0 < p_1 and p_1 <= p_2",
    example="s(p_1=105, p_2=140) = 75",
    source="definition; what share is good enough is common practice, no source",
)
