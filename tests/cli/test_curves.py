"""`grader curves`: table, JSON, plot, and what it refuses."""
# ruff: noqa: E501 (a message is compared as one line)

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

ROOT = Path(__file__).parents[2]
POINTS = ["curb idle", "off idle", "transition", "cruise", "heavy load", "full throttle"]


def grader(*arguments: str, where: Path = ROOT) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "grader", *arguments], capture_output=True, text=True, timeout=120, check=False, cwd=where
    )


def test_it_prints_the_healthy_carburetor() -> None:
    done = grader("curves", "T-1")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.splitlines()[:6] == [
        "T-1: Training carburetor T-1, one barrel, emulsion tube, single metering rod, on a 3.7 L six",
        "sea level, 15 °C, dry air, straight gasoline",
        "",
        "healthy",
        "point           rev/min   vacuum      air     fuel     A/F  lambda  rod lift    level  mixture",
        "                            inHg      g/s      g/s                        in       in",
    ]
    # The course's model prints 13.5 at 17.0 inHg.
    assert done.stdout.splitlines()[6].split()[:7] == ["curb", "idle", "700", "17.0", "5.44", "0.403", "13.5"]


def test_json_gives_the_points_by_the_agreed_names() -> None:
    found = json.loads(grader("curves", "T-2", "--json").stdout)
    assert [point["point"] for point in found["points"]] == POINTS
    wanted = {"point", "rpm", "vacuum_inHg", "air_g_s", "fuel_g_s", "air_fuel", "lambda", "rod_lift_in", "level_in", "starved"}
    for point in found["points"]:
        assert wanted <= set(point)
        assert point["air_fuel"] == pytest.approx(point["air_g_s"] / point["fuel_g_s"], rel=1e-8)
        assert point["lambda"] == pytest.approx(point["air_fuel"] / 14.7, rel=1e-8)
        assert point["starved"] is False
    # The course's model: cruise 15.1 at 15.0 inHg, rods down.
    cruise = found["points"][3]
    assert (cruise["rpm"], cruise["rod_lift_in"]) == (2000, 0)
    assert cruise["air_fuel"] == pytest.approx(15.1, abs=0.05)
    assert cruise["vacuum_inHg"] == pytest.approx(15.0, abs=0.05)


def test_a_fault_gives_its_own_points_and_the_healthy_ones_beside() -> None:
    found = json.loads(grader("curves", "T-1", "--fault", "rod-stuck-down", "--json").stdout)
    assert {point["fault"] for point in found["points"]} == {"rod-stuck-down"}
    assert len(found["points"]) == len(found["healthy"]) == 6
    full = found["points"][5]
    assert full["air_fuel"] > 15
    assert full["rod_lift_in"] == 0
    assert full["change_percent"] == pytest.approx(100 * (full["air_fuel"] / found["healthy"][5]["air_fuel"] - 1), rel=1e-6)
    two = json.loads(grader("curves", "T-1", "--fault", "rod-stuck-down", "--fault", "inlet-blocked", "--json").stdout)
    assert [point["fault"] for point in two["points"]] == ["rod-stuck-down"] * 6 + ["inlet-blocked-to-1/4"] * 6
    assert [point["starved"] for point in two["points"]] == [False] * 11 + [True]
    both = json.loads(
        grader("curves", "T-1", "--fault", "rod-stuck-up", "--fault", "main-jet-blocked", "--together", "--json").stdout
    )
    assert len(both["points"]) == 6
    assert both["points"][0]["fault"] == "rod-stuck-up and main-jet-blocked-to-0.85"


def test_altitude_fuel_and_weather_reach_the_engine() -> None:
    low, high = (json.loads(grader("curves", "T-1", "--altitude", height, "--json").stdout) for height in ("0", "4000"))
    metres = json.loads(grader("curves", "T-1", "--altitude", "1219.2 m", "--json").stdout)
    assert metres == high
    # Standard atmosphere at 4000 ft: the square root of the density ratio is 0.94238; cruise is within 2 % of it.
    assert high["points"][3]["air_fuel"] / low["points"][3]["air_fuel"] == pytest.approx(0.94238, rel=0.02)
    assert high["altitude"]["square_root_law"] == pytest.approx(0.94238, abs=5e-6)
    assert high["altitude"]["idle_bleed_in"] > 0.01
    assert "altitude" not in low
    blend = json.loads(grader("curves", "T-1", "--fuel", "e10", "--json").stdout)
    assert blend["points"][0]["lambda"] == pytest.approx(low["points"][0]["lambda"] * 14.7 / 14.1, rel=0.01)
    hot = json.loads(grader("curves", "T-1", "--temperature", "100 degF", "--humidity", "80 %", "--json").stdout)
    assert hot["points"][3]["air_fuel"] < low["points"][3]["air_fuel"]
    cold = json.loads(grader("curves", "T-1", "--coil", "32 degF", "--json").stdout)
    assert cold["points"][0]["choke_deg"] < 40 < low["points"][0]["choke_deg"]
    assert cold["points"][0]["throttle_deg"] > low["points"][0]["throttle_deg"]
    assert (
        "a two-position compensator needs further bleeds of idle 0.0210" in grader("curves", "T-1", "--altitude", "4000").stdout
    )


def test_the_signature_table_is_printed() -> None:
    done = grader("curves", "T-1", "--signatures", "--fault", "rod-stuck-down", "--fault", "idle-jet-blocked")
    rows = [line.split() for line in done.stdout.splitlines()]
    mixture = [row for row in rows if row[:1] in (["rod-stuck-down"], ["idle-jet-blocked-to-1/3"])][:2]
    # The course's model.
    assert mixture[0][:7] == ["rod-stuck-down", "0", "0", "0", "0", "+++", "+++"]
    assert mixture[1][:7] == ["idle-jet-blocked-to-1/3", "+++", "+++", "+", "+", "0", "-"]
    assert mixture[1][-1] == "stalls"
    found = json.loads(grader("curves", "T-1", "--signatures", "--fault", "idle-jet-blocked", "--json").stdout)["signatures"]
    assert found[0]["free_idle_rpm"] is None
    assert found[0]["warm"]["curb idle"] == "+++"


def test_the_signature_table_has_the_change_of_vacuum_warm_and_cold() -> None:
    done = grader("curves", "T-1", "--signatures", "--fault", "manifold-leak", "--fault", "rod-stuck-down")
    below = done.stdout.partition("VACUUM, change in inHg\n")[2].splitlines()[1:]
    leak = below[0].split()
    # A leak below the plates loses vacuum at idle most, full throttle least (common practice, no source); a rod does nothing there.
    assert len(leak) == 13
    warm, cold = [float(number) for number in leak[1:7]], [float(number) for number in leak[7:]]
    assert warm == sorted(warm)
    assert warm[0] < -1
    assert cold[0] < -1
    assert below[1].split()[1:5] == ["0"] * 4
    found = json.loads(grader("curves", "T-1", "--signatures", "--fault", "manifold-leak", "--json").stdout)["signatures"][0]
    assert found["vacuum_inHg"]["curb idle"] == pytest.approx(warm[0], abs=0.05)
    assert found["cold_vacuum_inHg"]["curb idle"] == pytest.approx(cold[0], abs=0.05)
    assert found["change_percent"]["curb idle"] > 15
    one = grader("curves", "T-1", "--fault", "manifold-leak").stdout.partition("hole of 1/8 in.")[2]
    assert f"leaner, vacuum {warm[0]:+.1f} inHg" in one


def test_the_faults_are_listed() -> None:
    listed = grader("curves", "--faults").stdout
    assert "rod-stuck-down\n    The metering rods stick in the jets at the bottom.\n" in listed
    assert listed.count("\n    ") >= 36


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["T-3"], "grader: `T-3` is not a specimen of this course; did you mean `T-2`?\n"),
        (["boat"], "grader: `boat` is not a specimen of this course; they are T-1, T-2\n"),
        ([], "grader: no specimen is named; this course has T-1, T-2: `grader curves T-1`\n"),
        (["T-1", "--fault", "rod-stuck-dwn"], "grader: `rod-stuck-dwn` is not a fault known here; did you mean `rod-stuck-down`?\n"),
        (["T-1", "--fault", "idle-bypass-blocked"], "grader: T-1 cannot have `idle-bypass-blocked`: its idle_bypass is 0\n"),
        (["T-1", "--fuel", "diesel"], "grader: `diesel` is not a fuel known here; the fuels are gasoline, E10\n"),
        (["T-1", "--altitude", "-5"], "grader: altitude is -1.524 m; it must lie from 0 m to 11000 m\n"),
        (["T-1", "--altitude", "40 psi"], "grader: --altitude is given in psi: `40 psi`; give it as `4000 ft` or `1200 m`\n"),
        (["T-1", "--altitude", "nan"], "grader: --altitude: `nan` is not a number with a unit; write it as `0.089 in`, `5/32 in` or `2 %`\n"),
        (["T-1", "--temperature", "90"], "grader: --temperature is given without a unit: `90`; give it as `90 degF` or `32 degC`\n"),
        (["T-1", "--humidity", "120 %"], "grader: humidity is 1.2; it must lie from 0 to 1\n"),
        (["T-1", "--output", "plot.png"], "grader: --output plot.png: the plot is an SVG; give the file a name that ends in .svg\n"),
    ],
)  # fmt: skip
def test_wrong_use_says_how_to_mend_it_and_exits_with_2(arguments: list[str], said: str) -> None:
    done = grader("curves", *arguments)
    assert (done.returncode, done.stdout, done.stderr) == (2, "", said)


def test_a_course_elsewhere_is_named_with_in(tmp_path: Path) -> None:
    alone = grader("curves", "T-1", where=tmp_path)
    assert alone.returncode == 2
    assert alone.stderr == (
        "grader: `T-1` is not a specimen of this course; it has none in questions/specimens; name a course's folder with --in, or a sheet's file\n"
    )
    there = grader("curves", "T-1", "--in", str(ROOT), where=tmp_path)
    assert (there.returncode, there.stderr) == (0, "")


def test_a_faulty_sheet_gives_every_finding_and_exits_with_1(tmp_path: Path) -> None:
    text = (ROOT / "questions" / "specimens" / "T-1.yaml").read_text("utf-8")
    file = tmp_path / "mine.yaml"
    file.write_text(text.replace("main_jet: 0.093 in", "main_jet: -0.093 in").replace("'#69'", "'#99'"), "utf-8")
    done = grader("curves", str(file))
    assert (done.returncode, done.stdout) == (1, "")
    assert len(done.stderr.splitlines()) == 2
    assert "main_jet (main jet bore) is −0.093000" in done.stderr


def test_a_point_without_a_solution_has_null_and_a_reason(tmp_path: Path) -> None:
    text = (ROOT / "questions" / "specimens" / "T-1.yaml").read_text("utf-8")
    file = tmp_path / "mine.yaml"
    file.write_text(text.replace("venturi_bore: 1.34 in", "venturi_bore: 0.6 in"), "utf-8")
    done = grader("curves", str(file), "--json", "--output", str(tmp_path / "plot.svg"))
    assert done.returncode == 0
    full = json.loads(done.stdout)["points"][5]
    assert full["air_fuel"] is None
    assert full["reason"] == "the air in the venturi passes Mach 0.9, where its law is not used"
    assert full["reason"] in done.stderr
    assert "nan" not in (tmp_path / "plot.svg").read_text("utf-8").lower()


# --- the plot ----------------------------------------------------------------------------------------------------------------

FOUR = ("rod-stuck-down", "idle-bleed-blocked", "inlet-blocked-to-1/4", "choke-stuck-at-45-deg")


@pytest.fixture(scope="module")
def plot(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("plot") / "plot.svg"
    done = grader("curves", "T-1", *(part for name in FOUR for part in ("--fault", name)), "--output", str(file))
    assert done.returncode == 0
    assert done.stderr == f"written to {file}\n"
    return file


def test_the_plot_says_what_it_shows(plot: Path) -> None:
    root = etree.parse(str(plot)).getroot()
    name = {"s": "http://www.w3.org/2000/svg"}
    words = [text.text for text in root.iterfind(".//s:text", name)]
    for wanted in ("T-1: mixture at its operating points", "air-fuel ratio: ↑ leaner, ↓ richer", "lambda", "speed, rev/min",
                   "vacuum, inHg, healthy", "stoichiometric, 14.7 (lambda 1)", "healthy; the band is 5 % to either side", *FOUR):  # fmt: skip
        assert wanted in words
    described = root.findtext("s:desc", namespaces=name)
    assert described is not None
    assert "rod-stuck-down: air-fuel ratio curb idle 13.5" in described
    assert len(root.findall(".//s:polygon[@class='band']", name)) == 1
    # Every curve has its own mark, dashes and colour; none is told by colour alone.
    lines = root.findall(".//s:polyline", name)
    assert len(lines) == 5
    assert len({(line.get("class"), line.get("stroke-dasharray")) for line in lines}) == 5
    assert "prefers-color-scheme: dark" in (root.findtext("s:style", namespaces=name) or "")


@pytest.mark.browser
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1100])
def test_the_plot_can_be_read_on_a_phone_and_a_desk(browser: Any, plot: Path, scheme: str, width: int) -> None:
    context = browser.new_context(viewport={"width": width, "height": 844}, color_scheme=scheme)
    page = context.new_page()
    page.set_content(
        f'<meta name="viewport" content="width=device-width"><body style="margin:0">{plot.read_text("utf-8")}</body>'
    )
    seen = page.evaluate(
        """() => { const svg = document.querySelector('svg'), box = svg.getBoundingClientRect();
        const boxes = [...svg.querySelectorAll('text')].map(t => { const b = t.getBoundingClientRect();
          return [b.left, b.top, b.right, b.bottom, t.textContent]; });
        return {box: [box.left, box.right, box.bottom], boxes, ground: getComputedStyle(svg.querySelector('.paper')).fill,
                ink: getComputedStyle(svg.querySelector('text')).fill}; }"""
    )
    context.close()
    left, right, foot = seen["box"]
    assert right - left == pytest.approx(min(width, 896), abs=1)
    for a in seen["boxes"]:
        assert left <= a[0] < a[2] <= right, f"{a[4]} is cut off"
        assert a[3] <= foot, f"{a[4]} is cut off"
        assert a[3] - a[1] >= 9, f"{a[4]} is too small to read"
    for n, a in enumerate(seen["boxes"]):
        for b in seen["boxes"][n + 1 :]:
            lines = 0.3 * (a[3] - a[1])  # the boxes of two lines of one text share their leading
            apart = a[2] <= b[0] + 1 or b[2] <= a[0] + 1 or a[3] <= b[1] + lines or b[3] <= a[1] + lines
            assert apart, f"{a[4]} stands on {b[4]}"
    dark = scheme == "dark"
    assert (int(seen["ground"].split("(")[1].split(",")[0]) < 60) == dark
    assert (int(seen["ink"].split("(")[1].split(",")[0]) > 200) == dark
