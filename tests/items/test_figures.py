"""The figures: what each may hold, how each looks in a browser and on paper, and what happens to a bad one."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from grader.base.errors import UseError
from grader.items import figures
from grader.items.figures import CLASSES, TEXT_SIZES, check_figure, described, for_page, for_paper

ROOT = Path(__file__).parents[2]
FILES = sorted((ROOT / "lessons" / "figures").glob("*.svg"))
DRAWINGS = {file.stem: file.read_text(encoding="utf-8") for file in FILES}
SHEET = (ROOT / "grader" / "items" / "figures.css").read_text(encoding="utf-8")
PRINT_SHEET = (ROOT / "grader" / "items" / "figures-print.css").read_text(encoding="utf-8")
SVG = "{http://www.w3.org/2000/svg}"

GOOD = """<svg xmlns="http://www.w3.org/2000/svg" class="figure-drawing" viewBox="0 0 380 90">
  <title>Jet</title>
  <desc>A hole in a wall.</desc>
  <defs><pattern id="jet-hatch" width="6" height="6" patternUnits="userSpaceOnUse"><rect class="fig-metal" width="6" height="6"/></pattern></defs>
  <path class="fig-cut" fill="url(#jet-hatch)" d="M0 0 H9 V9 Z"/>
  <text class="fig-label" x="9" y="30">main jet</text>
</svg>
"""  # noqa: E501


def faults(text: str, name: str = "jet") -> list[str]:
    return [finding.code for finding in check_figure(f"lessons/figures/{name}.svg", text)]


@pytest.fixture(params=sorted(DRAWINGS))
def name(request: pytest.FixtureRequest) -> str:
    return str(request.param)


# ------------------------------------------------------------------------------------------------------------- the drawings


def test_every_circuit_and_its_details_are_drawn() -> None:
    wanted = """
    whole-carburetor two-depressions venturi jet-and-head
    float-circuit float-lever float-settings needle-faults twin-bowls bowl-vent
    idle-circuit plate-gap transfer-slot idle-bypass throttle-stop-solenoid load-solenoid idle-actuator heater-grid leak-places
    main-circuit well-emulsion-tube well-bled-at-tip percolation bleed-turned cluster-leak
    power-circuit rod-in-jet power-piston lifter-tab altitude-compensator
    pump-circuit pump-shot-volume pump-checks pull-over pump-plungers pump-slots
    choke choke-torques choke-integral choke-piston choke-remote vacuum-break-gap pull-off-modulated electric-assist
    fast-idle-cam choke-unloader choke-rivets
    order-of-tests gauge-signs rebuild-layers
    vapour-trail spit-back exhaust-outdoors battery-ground
    """
    assert set(wanted.split()) <= DRAWINGS.keys()


def test_every_figure_stands_in_a_lesson_or_an_item() -> None:
    """The lettered ones wait for whoever writes an item on them."""
    pages = [*(ROOT / "lessons").glob("*.md"), *(ROOT / "questions").rglob("*.yaml")]
    set_in = set(re.findall(r"\bname: ([a-z0-9-]+)", "\n".join(page.read_text(encoding="utf-8") for page in pages)))
    assert {name for name in DRAWINGS if not name.endswith("-letters")} <= set_in


def test_every_figure_passes_its_own_check(name: str) -> None:
    assert [str(finding) for finding in check_figure(f"lessons/figures/{name}.svg", DRAWINGS[name])] == []


def test_no_figure_carries_a_style_a_script_or_an_outside_reference(name: str) -> None:
    """Read by another parser (lxml, libxml2), with rules written anew: nothing here leans on `check_figure`."""
    root = etree.fromstring(DRAWINGS[name].encode(), etree.XMLParser(resolve_entities=False, no_network=True))
    tags = {etree.QName(element).localname for element in root.iter(etree.Element)}
    assert not tags & {"style", "script", "foreignObject", "image", "use", "a", "animate", "set", "iframe"}
    for element in root.iter(etree.Element):
        for attribute, value in element.attrib.items():
            assert not attribute.startswith("on")
            assert attribute not in {"style", "href", "{http://www.w3.org/1999/xlink}href", "stroke", "font-size", "font-family"}
            assert "://" not in value
            assert "javascript:" not in value
    references = set(re.findall(r"url\(#([^)]+)\)", DRAWINGS[name]))
    assert references == {element.get("id") for element in root.iter() if element.get("id")}, "a pattern lost, or one never used"


def test_every_figure_has_a_title_and_a_description_of_some_length(name: str) -> None:
    root = etree.fromstring(DRAWINGS[name].encode())
    assert 3 <= len(root.findtext(f"{SVG}title")) <= 80
    assert len(root.findtext(f"{SVG}desc").split()) >= 20


def test_no_text_is_lower_than_11_px_on_a_phone_390_px_wide(name: str) -> None:
    root = etree.fromstring(DRAWINGS[name].encode())
    width = float(root.get("viewBox").split()[2])
    for text in root.iter(f"{SVG}text", f"{SVG}tspan"):
        sizes = [TEXT_SIZES[word] for word in (text.get("class") or "").split() if word in TEXT_SIZES]
        assert all(size * 328 / max(width, 328) >= 11 for size in sizes), text.text


LETTERS = {
    "main-circuit-letters": (
        "main air bleed, emulsion tube, booster venturi, main venturi, throttle plate, main jet, main well, fuel bowl"
    ),
    "power-piston-letters": "power piston, spring, vacuum passage, hanger, metering rod, lifter tab, main jet",
    "power-circuit-letters": (
        "power piston, hanger, metering rod, main jet, lifter, vacuum passage, throttle link, throttle plate"
    ),
    "pump-circuit-letters": "pump arm, duration spring, plunger, intake check, discharge check, pump jet, bleed",
    "float-circuit-letters": "seat, needle, float, hinge pin, drop tang, bowl vent",
    "idle-circuit-letters": (
        "idle air bleed, low-speed jet, economiser, transfer slot, mixture port, mixture screw, throttle plate"
    ),
    "choke-letters": "choke plate, offset shaft, vacuum diaphragm, slot, coil rod, coil",
    "whole-carburetor-letters": "choke, power circuit, main circuit, low-speed circuit, pump circuit, float circuit",
    "float-lever-letters": "seat, needle, float, hinge pin, drop tang",
    "float-settings-letters": "float, needle, level tang, hinge pin, drop tang",
    "bowl-vent-letters": "balanced, unbalanced, air cleaner",
    "choke-integral-letters": "coil, shaft and lever, vacuum piston, slot, vacuum passage, heat tube",
    "choke-remote-letters": "coil, coil rod, gasket, gasket, hot exhaust, choke lever",
    "fast-idle-cam-letters": "high step, fast-idle cam, fast-idle screw, choke rod, unloader tang",
    "choke-unloader-letters": "unloader tang, finger, choke rod, choke plate",
    "vacuum-break-gap-letters": "shank, long side, rod, choke lever",
    "throttle-stop-solenoid-letters": "plunger, stop screw, throttle lever",
    "load-solenoid-letters": "plunger, curb-idle screw, travel",
    "idle-actuator-letters": "vacuum hose, diaphragm, electric part, plunger, stop screw",
    "idle-bypass-letters": "bypass passage, bypass screw, throttle plate, nozzle tip, transfer slot",
    "heater-grid-letters": "heater grid, gasket, gasket, coolant switch",
    "lifter-tab-letters": "tab, hanger, metering rod",
    "cluster-leak-letters": "nozzle cluster, gasket, loose screw, main well, idle passage",
    "pump-slots-letters": "slot, cup, discharge check",
    "transfer-slot-letters": "transfer slot, throttle plate, idle passage, mixture port, mixture screw",
}
"""What A, B, C … point at, for whoever writes an item on one of these figures."""

GIVES_NOTHING_AWAY = {
    *("air", "spill height", "throttle", "cruise", "full throttle", "at rest", "stroke"),
    *("curb idle", "open too far"),
    *("ignition on", "ignition off", "accessory off", "accessory on", "ln", "lw", "lf"),
}
"""Words that a lettered figure may keep: what its two views show, and what it measures."""


def test_the_letters_of_every_lettered_figure_are_written_down_here() -> None:
    assert LETTERS.keys() == {name for name in DRAWINGS if name.endswith("-letters")}


@pytest.mark.parametrize("name", sorted(LETTERS))
def test_a_lettered_figure_points_at_each_part_in_ink_and_in_words_and_names_none(name: str) -> None:
    parts = LETTERS[name].split(", ")
    root = etree.fromstring(DRAWINGS[name].encode())
    labels = ["".join(text.itertext()) for text in root.iter(f"{SVG}text")]
    letters = sorted(label for label in labels if len(label) == 1)
    assert letters == list("ABCDEFGHIJ"[: len(parts)])
    assert {label for label in labels if len(label) > 1} <= GIVES_NOTHING_AWAY
    said = root.findtext(f"{SVG}desc")
    assert re.findall(r"\b([A-Z]): ", said) == letters, "someone who cannot see it must be able to answer too"
    for part in parts:
        assert not re.search(rf"\b{part}\b", said, flags=re.IGNORECASE), f"the description gives away {part!r}"
    lines = {
        "".join(text.itertext()) for text in etree.fromstring(DRAWINGS[name.removesuffix("-letters")].encode()).iter(f"{SVG}text")
    }
    words = " ".join(lines).replace(",", "")
    for part in parts:
        assert all(word in words for word in part.split()), f"the labelled twin does not show {part!r}"


# ---------------------------------------------------------------------------------------------------------- the style sheets


def classes_of(sheet: str) -> set[str]:
    return set(re.findall(r"\.((?:fig-|figure-drawing)[a-z-]*)", re.sub(r"/\*.*?\*/", "", sheet, flags=re.DOTALL)))


def test_the_sheets_and_the_check_know_the_same_classes() -> None:
    assert classes_of(SHEET) == CLASSES
    assert classes_of(PRINT_SHEET) == CLASSES - {"figure-drawing"}


def test_every_class_is_described_at_the_top_of_the_sheet() -> None:
    top = SHEET[: SHEET.index("*/")]
    assert {word for word in CLASSES if not re.search(rf"(?<![a-z-]){word}(?![a-z-])", top)} == set()


def test_both_sheets_set_the_sizes_of_text_that_the_check_assumes() -> None:
    for sheet in (SHEET, PRINT_SHEET):
        sizes: dict[str, float] = {}
        for names, body in re.findall(r"^(\.[^{]+)\{([^}]*)\}", sheet, flags=re.MULTILINE):
            if size := re.search(r"font-size: ([0-9.]+)px", body):
                sizes |= dict.fromkeys(re.findall(r"\.(fig-[a-z-]+)", names), float(size[1]))
        assert sizes == TEXT_SIZES


def test_the_sheet_for_paper_is_literal_and_grey() -> None:
    rules = re.sub(r"/\*.*?\*/", "", PRINT_SHEET, flags=re.DOTALL)
    assert "var(" not in rules
    assert "@" not in rules
    for colour in re.findall(r"#([0-9a-fA-F]+)", rules):
        assert re.fullmatch(r"([0-9a-f]{2})\1\1", colour), colour


def test_the_fallback_beside_each_variable_is_its_light_value() -> None:
    light = palettes()["light"]
    for variable, fallback in re.findall(r"var\((--fig-[a-z-]+), (#[0-9a-f]{6})\)", SHEET):
        assert light[variable] == fallback


def palettes() -> dict[str, dict[str, str]]:
    """The values each look gives to the variables; where the page's own ground is taken, the value that stands in for it."""
    values = r"(--fig-[a-z-]+): (?:var\(--[a-z-]+, )?(#[0-9a-f]{6})\)?;"
    blocks = re.findall(r"\{([^{}]*--fig-ink:[^{}]*)\}", SHEET)
    return dict(
        zip(("light", "system dark", "dark", "print"), (dict(re.findall(values, block)) for block in blocks), strict=True)
    )


def luminance(colour: str) -> float:
    """Relative luminance. Source: WCAG 2.2, definition "relative luminance"."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Source: WCAG 2.2, definition "contrast ratio"."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_the_contrast_formula_gives_the_known_ends() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)  # WCAG 2.2: ratios range from 1 to 21
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)  # the grey usually quoted as just enough; from memory


@pytest.mark.parametrize("look", ["light", "system dark", "dark", "print"])
def test_words_and_marks_stand_out_from_every_ground(look: str) -> None:
    """WCAG 2.2: 4.5 for text (1.4.3), 3 for what is needed to understand a picture (1.4.11)."""
    palette = palettes()[look]
    for ground in ("paper", "metal", "fuel", "air", "mixture", "brass"):
        assert contrast(palette["--fig-ink"], palette[f"--fig-{ground}"]) >= 4.5, ground
    for mark, ground in (
        ("hatch", "metal"),
        ("hatch", "brass"),
        ("fuel-ink", "fuel"),
        ("air-ink", "air"),
        ("mixture-ink", "mixture"),
    ):
        assert contrast(palette[f"--fig-{mark}"], palette[f"--fig-{ground}"]) >= 3, (mark, ground)


def test_fuel_air_and_mixture_are_told_apart_without_colour() -> None:
    for sheet in (SHEET, PRINT_SHEET):
        assert re.search(r"\.fig-fuel-mark \{ fill: none; stroke: ", sheet), "level strokes"
        assert re.search(r"\.fig-mixture-mark \{ fill: ", sheet), "dots"
        assert re.search(r"\.fig-flow-mixture \{[^}]*stroke-dasharray", sheet), "a dotted line"
        assert re.search(r"\.fig-head-air \{[^}]*stroke: ", sheet), "an open head"
        assert not re.search(r"\.fig-(flow|head)-fuel \{[^}]*dasharray", sheet)
    for name, drawing in DRAWINGS.items():
        # In an instrument's glass strokes would be taken for lines of its scale: there the drawn surface tells.
        marked = 'class="fig-fuel-mark"' in drawing or 'class="fig-surface"' in drawing
        assert ('class="fig-fuel"' in drawing) == marked, name
        assert ('class="fig-mixture"' in drawing) == ('class="fig-mixture-mark"' in drawing), name


# -------------------------------------------------------------------------------------------------------------- a bad figure


def test_a_good_figure_has_no_findings() -> None:
    assert faults(GOOD) == []


DAMAGE = [
    ("</svg>", "", "not-xml"),
    ('viewBox="0 0 380 90"', "", "no-viewbox"),
    ('viewBox="0 0 380 90"', 'viewBox="0 0 0 90"', "no-viewbox"),
    ('viewBox="0 0 380 90"', 'viewBox="0 0 500 90"', "small-text"),
    ("<title>Jet</title>", "", "no-title"),
    ("<title>Jet</title>", "<title> </title>", "no-title"),
    ("<desc>A hole in a wall.</desc>", "", "no-desc"),
    ('class="fig-cut"', 'class="fig-cut red"', "unknown-class"),
    ('class="fig-cut"', 'style="fill: red"', "unknown-attribute"),
    ('class="fig-cut"', 'onclick="go()"', "unknown-attribute"),
    ('class="fig-cut"', 'stroke="#f00"', "unknown-attribute"),
    ('class="fig-label"', 'class="fig-label" transform="scale(0.1)"', "unknown-attribute"),
    ('class="fig-cut"', 'xmlns:x="http://www.w3.org/1999/xlink" x:href="#jet-hatch"', "unknown-attribute"),
    ('fill="url(#jet-hatch)"', 'fill="red"', "outside-reference"),
    ('fill="url(#jet-hatch)"', 'fill="url(https://example.org/a.svg#b)"', "outside-reference"),
    ('fill="url(#jet-hatch)"', 'fill="url(#jet-brass)"', "lost-reference"),
    ('id="jet-hatch"', 'id="hatch"', "foreign-id"),
    ("<desc>", "<script>go()</script><desc>", "unknown-element"),
    ("<desc>", "<style>path {}</style><desc>", "unknown-element"),
    ("<desc>", '<use href="https://example.org/a.svg"/><desc>', "unknown-element"),
    ("<desc>", '<image href="a.png"/><desc>', "unknown-element"),
    ("<desc>", '<svg viewBox="0 0 9 9"/><desc>', "unknown-element"),
    ("<desc>", '<g xmlns="http://www.w3.org/1999/xhtml"/><desc>', "unknown-element"),
    ("<desc>", "loose words<desc>", "loose-text"),
    ("<desc>", "<?go now?><desc>", "instruction"),
    ('class="fig-label"', "", "unsized-text"),
    ("</defs>", '<pattern id="jet-hatch" width="1" height="1"/></defs>', "repeated-id"),
    ("<svg", '<!DOCTYPE svg SYSTEM "file:///etc/hostname"><svg', "doctype"),
    ("<svg", '<!DOCTYPE svg [<!ENTITY a "b"><!ENTITY c "&a;&a;&a;">]><svg', "doctype"),
    ("A hole", "A &unheard; hole", "not-xml"),
    ("A hole", "A hole \ud800", "not-text"),
    ('<path class="fig-cut"', "<g>" * 60 + "</g>" * 60 + '<path class="fig-cut"', "too-deep"),
    ("A hole", "A hole " * 40_000, "too-large"),
]


@pytest.mark.parametrize(("old", "new", "code"), DAMAGE)
def test_each_fault_is_found_and_nothing_else_is_blamed(old: str, new: str, code: str) -> None:
    assert old in GOOD
    found = faults(GOOD.replace(old, new, 1))
    assert code in found
    also = {"lost-reference"} if code == "foreign-id" else set()
    assert set(found) - also == {code}


def test_all_faults_are_told_at_once_each_with_its_line() -> None:
    bad = (
        GOOD.replace("<title>Jet</title>", "<title/>")
        .replace('class="fig-cut"', 'style="x"')
        .replace('class="fig-label"', 'class="big"')
    )
    told = [(finding.line, finding.code) for finding in check_figure("lessons/figures/jet.svg", bad)]
    assert told == [(1, "no-title"), (5, "unknown-attribute"), (6, "unknown-class"), (6, "unsized-text")]


def test_a_figure_that_is_no_svg_is_a_finding() -> None:
    assert "unknown-element" in faults("<html><body/></html>")
    assert faults("") == ["not-xml"]
    assert faults("main jet") == ["not-xml"]
    assert "not-svg" in faults('<g xmlns="http://www.w3.org/2000/svg"/>')


@settings(max_examples=150, deadline=None)
@given(st.integers(0, len(GOOD) - 1), st.integers(0, 60), st.text(max_size=12))
def test_a_figure_damaged_anywhere_gives_findings_or_a_use_error_never_another(at: int, length: int, put: str) -> None:
    damaged = GOOD[:at] + put + GOOD[at + length :]
    findings = check_figure("jet.svg", damaged)
    for act in (lambda: for_page(damaged, "q1"), lambda: for_paper(damaged), lambda: described(damaged)):
        try:
            act()
        except UseError:
            assert findings, "refused, so there must be something to find"


# ------------------------------------------------------------------------------------------------------ for a page, for a paper


def test_two_figures_on_one_page_share_no_id_and_keep_their_references(name: str) -> None:
    page = "<main>" + for_page(DRAWINGS[name], "q1") + for_page(DRAWINGS[name], "q2") + "</main>"
    root = etree.fromstring(page.encode())
    ids = [element.get("id") for element in root.iter() if element.get("id")]
    assert len(ids) == len(set(ids))
    assert set(re.findall(r"url\(#([^)]+)\)", page)) <= set(ids)
    for svg in root:
        assert svg.get("role") == "img"
        assert svg.get("aria-labelledby") in ids
        assert svg.get("aria-describedby") in ids


@pytest.mark.parametrize("prefix", ["", "Q1", "1q", 'q"><script>', "q 1", "q_1"])
def test_a_prefix_that_cannot_stand_in_an_id_is_refused(prefix: str) -> None:
    with pytest.raises(UseError, match="cannot stand before an id"):
        for_page(GOOD, prefix)


def test_words_are_escaped_again_when_a_figure_is_written() -> None:
    text = GOOD.replace("main jet", "a &lt;b&gt; &amp; c")
    assert "a &lt;b&gt; &amp; c" in for_page(text, "q")
    assert "a &lt;b&gt; &amp; c" in for_paper(text)


def test_no_comment_goes_out_with_a_figure() -> None:
    """A comment names the parts; a paper that asks for them must not carry it."""
    drawing = DRAWINGS["main-circuit-letters"]
    assert "<!--" in drawing
    assert "<!--" not in for_page(drawing, "q1")
    assert "<!--" not in for_paper(drawing)


def test_the_figure_in_words_is_its_title_and_its_description(name: str) -> None:
    words = described(DRAWINGS[name])
    assert words.endswith(".")
    assert "<" not in words


def test_for_paper_keeps_the_drawing_and_adds_one_style(name: str) -> None:
    root = etree.fromstring(for_paper(DRAWINGS[name]).encode())
    before = etree.fromstring(DRAWINGS[name].encode())
    assert len(list(root.iter(f"{SVG}style"))) == 1
    assert len(list(root.iter(f"{SVG}path"))) == len(list(before.iter(f"{SVG}path")))
    assert root.get("viewBox") == before.get("viewBox")


@pytest.mark.paper
def test_every_figure_sets_on_a_tagged_paper_with_its_words_and_in_greys() -> None:
    import numpy as np
    import pypdfium2
    import typst

    fonts = typst.Fonts(include_system_fonts=False)
    pictures = ", ".join(f'image(bytes(sys.inputs.at("{name}")), format: "svg", width: 9cm, alt: "figure")' for name in DRAWINGS)
    source = (
        '#set document(title: "Figures", date: none)\n#set text(lang: "en", region: "GB")\n#set page(height: auto)\n'
        f"= Figures\n#grid(columns: 1, {pictures})"
    )
    inputs = {name: for_paper(text) for name, text in DRAWINGS.items()}
    pdf, warnings = typst.compile_with_warnings(
        source.encode(), sys_inputs=inputs, font_paths=fonts, ignore_system_fonts=True, pdf_standards="ua-1", timestamp=0
    )
    assert warnings == []
    document = pypdfium2.PdfDocument(io.BytesIO(pdf))
    words = "".join(document[page].get_textpage().get_text_range() for page in range(len(document)))
    for wanted in ("main air bleed", "metering rod", "duration", "discharge check", "U-tube"):
        assert wanted in words, wanted
    picture = np.asarray(document[0].render(scale=1).to_pil().convert("RGB")).astype(int)
    assert (picture.max(axis=2) - picture.min(axis=2)).max() <= 2, "colour on a paper"
    assert (picture.min(axis=2) < 128).mean() > 0.01, "an empty paper"
    document.close()


# ------------------------------------------------------------------------------------------------------------ in a browser


@pytest.fixture(scope="module")
def browser_page(browser: Any) -> Iterator[Any]:
    page = browser.new_page(viewport={"width": 390, "height": 844})
    yield page
    page.close()


CROSSINGS = """() => {
  const svg = document.querySelector('svg'), view = svg.viewBox.baseVal, found = [];
  const texts = [...svg.querySelectorAll('text')].map(text => {
    const box = text.getBBox();                              // three units less above and below: the line's own leading
    return {says: text.textContent, left: box.x, right: box.x + box.width, top: box.y + 3, foot: box.y + box.height - 3};
  });
  texts.forEach((one, i) => {
    if (one.left < 0 || one.right > view.width || one.top < view.y || one.foot > view.y + view.height)
      found.push('outside: ' + one.says);
    texts.slice(i + 1).forEach(other => {
      if (one.left < other.right && other.left < one.right && one.top < other.foot && other.top < one.foot)
        found.push('collide: ' + one.says + ', ' + other.says);
    });
  });
  svg.querySelectorAll('.fig-leader').forEach(line => {
    for (let along = 0; along <= line.getTotalLength(); along += 1) {
      const at = line.getPointAtLength(along);
      texts.forEach(text => {
        if (at.x > text.left + 1 && at.x < text.right - 1 && at.y > text.top && at.y < text.foot)
          found.push('leader over: ' + text.says);
      });
    }
  });
  const small = [...svg.querySelectorAll('text, tspan')].filter(
    text => parseFloat(getComputedStyle(text).fontSize) * svg.getBoundingClientRect().width / view.width < 11);
  small.forEach(text => found.push('small: ' + text.textContent));
  return [...new Set(found)];
}"""


@pytest.mark.browser
def test_no_label_collides_leaves_the_picture_or_is_crossed_by_a_leader_on_a_phone(browser_page: Any, name: str) -> None:
    for margin in (16, 31, 10):  # running text, a practice card, a phone with little rim: glyphs are fitted anew at each size
        browser_page.set_content(f"<style>{SHEET} body {{ margin: {margin}px }}</style>{for_page(DRAWINGS[name], 'q1')}")
        assert browser_page.evaluate(CROSSINGS) == []


@pytest.mark.browser
@pytest.mark.parametrize(
    ("root", "body", "system", "look"),
    [
        ("", "", "light", "light"),
        ("", "", "dark", "system dark"),
        ('data-look="dark"', "", "light", "dark"),
        ('data-look="light"', "", "dark", "light"),
        ("", 'data-md-color-scheme="slate"', "light", "dark"),
        ("", 'data-md-color-scheme="default"', "dark", "light"),
    ],
)
def test_the_look_follows_the_page_and_else_the_system(browser_page: Any, root: str, body: str, system: str, look: str) -> None:
    browser_page.emulate_media(color_scheme=system, media="screen")
    figure = for_page(DRAWINGS["main-circuit"], "q1")
    browser_page.set_content(
        f"<!doctype html><html {root}><head><style>{SHEET}</style></head><body {body}>{figure}</body></html>"
    )
    ink = browser_page.evaluate("getComputedStyle(document.querySelector('.fig-line, .fig-thin')).stroke")
    wanted = palettes()[look]["--fig-ink"]
    assert ink == "rgb({}, {}, {})".format(*(int(wanted[i : i + 2], 16) for i in (1, 3, 5)))
    browser_page.emulate_media(media="print")
    printed = browser_page.evaluate("getComputedStyle(document.querySelector('.fig-line, .fig-thin')).stroke")
    assert printed == "rgb(0, 0, 0)"
    browser_page.emulate_media(color_scheme="light", media="screen")


@pytest.mark.browser
def test_a_figure_asks_for_nothing_from_outside(browser_page: Any) -> None:
    asked: list[str] = []
    browser_page.on("request", lambda request: asked.append(request.url))
    for index, text in enumerate(DRAWINGS.values()):
        browser_page.set_content(f"<style>{SHEET}</style>{for_page(text, f'q{index}')}")
    assert asked == []


def test_the_look_for_paper_is_read_once() -> None:
    assert figures._print_look() is figures._print_look()
