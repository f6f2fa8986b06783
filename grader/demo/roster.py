"""The demonstration's class: twenty-four invented apprentices. No such person is known to us."""

from __future__ import annotations

CLASS = (
    ("a-01", "Amara Delcroix-Tan"),
    ("a-02", "Björn Åkerfelt"),
    ("a-03", "Casimir Wolanin"),
    ("a-04", "Dilnoza Qahhorova"),
    ("a-05", "Edda Hrafnsdóttir"),
    ("a-06", "Fionn Mac Ruadhán"),
    ("a-07", "Giulietta Ferrabosca"),
    ("a-08", "Hamid Rostampour"),
    ("a-09", "Ilse van Kempenaer"),
    ("a-10", "Joaquín Peñalver"),
    ("a-11", "Kalinda Ravishet"),
    ("a-12", "Łucja Żurawiecka"),
    ("a-13", "Małgorzata O'Dell"),
    ("a-14", "Nikoleta Stamboulis"),
    ("a-15", "Oswin Treadaway"),
    ("a-16", "Phuong Lê Hoàng"),
    ("a-17", "Quentin Brassard"),
    ("a-18", "Rangi Te Aohia"),
    ("a-19", "Sunniva Bjerkvold"),
    ("a-20", "Tobiah Mensah-Clarke"),
    ("a-21", "Ulrike Zschornack"),
    ("a-22", "Valdis Ozoliņkalns"),
    ("a-23", "Wren Hollingworth-Pye"),
    ("a-24", "Zubayr Idrisov"),
)

EXTRA_TIME = {"a-08": "25 %", "a-19": "50 %"}
LARGE_PRINT = frozenset({"a-19"})
GROUPS = ("morning", "evening")


def roster_csv() -> str:
    """
    The class as a roster file.

    >>> roster_csv().splitlines()[:2]
    ['candidate,name,group,extra_time,print', 'a-01,Amara Delcroix-Tan,morning,,']
    """
    lines = ["candidate,name,group,extra_time,print"]
    for place, (candidate, name) in enumerate(CLASS):
        printed = "large" if candidate in LARGE_PRINT else ""
        lines.append(f"{candidate},{name},{GROUPS[place % 2]},{EXTRA_TIME.get(candidate, '')},{printed}")
    return "\n".join(lines) + "\n"
