"""The two tool pages: a certificate is checked on the page, an open quiz is made, printed and made again."""

from __future__ import annotations

import functools
import http.server
import json
import re
import shutil
import subprocess
import threading
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import axe_playwright_python
import pypdfium2
import pytest

from grader.base.canon import canonical
from grader.base.errors import FindingsError, UseError
from grader.certificates import issuer as issuers
from grader.certificates import proof, status
from grader.certificates.credential import Achievement, Facts, School, credential, status_address
from grader.certificates.keys import IssuerKey
from grader.certificates.pdf import certificate_pdf
from grader.items.model import Lesson, Objective
from grader.pages.build import build_site
from grader.pages.tools import LIMIT, published_files, published_script, quiz_page, quiz_settings

ROOT = Path(__file__).parents[2]
ASSETS = ROOT / "grader" / "pages" / "assets"
AXE = next(Path(axe_playwright_python.__file__).parent.rglob("axe.min.js")).read_text("utf-8")
SCHOOL = School("Weirgate Workshop School", "https://weirgate.example/", "Weirgate")
KEY, OTHER = IssuerKey(bytes(range(32))), IssuerKey(bytes([7]) * 32)
TODAY = datetime.now(UTC)


def day(days: int) -> str:
    return (TODAY + timedelta(days=days)).date().isoformat()


def sign(document: dict[str, Any], key: IssuerKey = KEY) -> bytes:
    return canonical(proof.signed(document, key, f"{day(-9)}T08:00:00Z"))


def certificate(*, key: IssuerKey = KEY, since: int = -30, last: int = 300, place: int = 5) -> bytes:
    facts = Facts(
        number="7M2KQ8D4XT",
        place=place,
        school=SCHOOL,
        holder="Ottoline Marwick",
        achievement=Achievement("main", "Main, power and pump circuits", "What it is.", "How it is passed."),
        results=(),
        examined=day(since - 2),
        issued=day(since),
        last_day=day(last),
        examiner="T. Examiner",
    )
    return sign(credential(facts), key)


def listed(*revoked: int, key: IssuerKey = KEY) -> bytes:
    return sign(status.status_list(SCHOOL.id, status_address(SCHOOL.id), revoked, f"{day(-1)}T08:00:00Z"), key)


def document(key: IssuerKey = KEY) -> bytes:
    return canonical(issuers.document(SCHOOL.id, [key.multikey]))


# ------------------------------------------------------------------ what goes into the site


def test_what_the_issuer_publishes_goes_with_the_site_and_nothing_else_of_it(course: Path, tmp_path: Path) -> None:
    (course / "issuer").mkdir()
    (course / "issuer" / "issuer.json").write_bytes(document())
    (course / "issuer" / "status.json").write_bytes(listed())
    (course / "issuer" / "notes.txt").write_text("between us", encoding="utf-8")
    build_site(course, tmp_path / "site", variants=1)
    assert sorted(path.name for path in (tmp_path / "site" / "issuer").iterdir()) == ["issuer.json", "status.json"]
    assert (tmp_path / "site" / "issuer" / "status.json").read_bytes() == listed()
    script = (tmp_path / "site" / "assets" / "course" / "issuer.js").read_text("utf-8")
    assert json.loads(script.removeprefix("globalThis.graderIssuer = ").removesuffix(";\n"))["issuer.json"] == document().decode()


def test_a_status_list_without_keys_is_not_published(course: Path) -> None:
    (course / "issuer").mkdir()
    (course / "issuer" / "status.json").write_bytes(listed())
    assert published_files(course) == {}


def test_an_issuers_file_that_cannot_be_published_ends_the_build(course: Path, tmp_path: Path) -> None:
    (course / "issuer").mkdir()
    for data, says in ((b"\xff", "not UTF-8"), (b" " * (LIMIT + 1), "larger than 1,048,576 bytes")):
        (course / "issuer" / "issuer.json").write_bytes(data)
        with pytest.raises(UseError, match=says):
            published_files(course)
        with pytest.raises(FindingsError, match="issuer-file"):
            build_site(course, tmp_path / "site", variants=1)
    assert not (tmp_path / "site").exists()


def test_nothing_in_a_published_file_ends_the_script() -> None:
    text = published_script({"issuer.json": "</script>\u2028\n"})
    assert "\u2028" not in text
    assert text.count("\n") == 1


def test_only_objectives_with_questions_can_be_chosen_and_nothing_ends_the_page() -> None:
    aims = tuple(Objective(f"power.{n}", level, f"says </script> {n}", "power", 1) for n, level in enumerate("RCP", 1))  # type: ignore[arg-type]
    lesson = Lesson("lessons/power.md", "The power circuit", "power", 1, aims, {}, (), (), (), frozenset(), "", 1)
    settings = quiz_settings([lesson], {"power.1": 3, "power.2": 1, "float.1": 9}, title="T", notice="N", packs=["x"])
    assert settings["circuits"] == [
        {
            "circuit": "power",
            "title": "The power circuit",
            "objectives": [
                {"id": "power.1", "says": "says </script> 1", "level": "R", "count": 3},
                {"id": "power.2", "says": "says </script> 2", "level": "C", "count": 1},
            ],
        }
    ]
    assert settings["levels"] == [{"level": "R", "says": "Recall"}, {"level": "C", "says": "Compute"}]
    page = quiz_page("assets/course", ["power"], settings)
    inside = re.search(r'<script type="application/json">(.*?)</script>', page, re.DOTALL)
    assert inside is not None
    assert json.loads(inside[1]) == settings


def test_other_questions_are_another_edition() -> None:
    editions = {str(quiz_settings([], {}, title="", notice="", packs=[text])["edition"]) for text in ("a", "b")}
    assert len(editions) == 2


# ------------------------------------------------------------------ drawing a quiz, in Node

RUN = """
require(process.argv[2]);
const fs = require('node:fs');
const q = graderQuiz;
const entries = [];
const item = (circuit, aim, n) => ({ item: `${circuit}-${aim}-${n}`, objective: `${circuit}.${aim}`, form: { circuit } });
const add = (...of) => entries.push({ item: item(...of) });
for (const [circuit, aims] of [['float', 3], ['main', 5], ['power', 2]])
  for (let aim = 1; aim <= aims; aim += 1)
    for (let n = 0; n < 4; n += 1) add(circuit, aim, n);
const x = { item: 'x', count: 7 };
const of = (quiz, count) => q.chosen(quiz, entries, count).map((one) => one.item);
process.stdout.write(JSON.stringify({
  draws: [q.draw('K7QD2M', 'circuits/1', 1000000), q.draw('', '', 1000000), q.draw('K7QD2M', '°/ø', 97)],
  again: [of('K7QD2M', 10).map((one) => one.item), of('K7QD2M', 10).map((one) => one.item)],
  quizzes: Array.from({ length: 200 }, (_, n) => of(`Q${n}`, 10).map((one) => one.item)),
  all: of('K7QD2M', 40).map((one) => one.item),
  more: of('K7QD2M', 99).length,
  none: q.chosen('K7QD2M', [], 5).length,
  spread: of('K7QD2M', 9).map((one) => one.objective),
  variants: Array.from({ length: 200 }, (_, n) => [0, 1, 2, 3].map((copy) => q.variantFor(`Q${n}`, x, copy))),
  single: [0, 1].map((copy) => q.variantFor('Q', { item: 'x', count: 1 }, copy)),
  dice: Array.from({ length: 6000 }, (_, n) => q.draw('dice', `n${n}`, 6)),
  read: [
    '', '#quiz=K7', '#quiz=../x', '#quiz=K7&questions=0&copies=9', '#quiz=K7&questions=41', '#quiz=K7&questions=1e1',
    '#quiz=' + 'A'.repeat(21), '#quiz=K7&questions=5&copies=2&circuits=main.power&levels=R&without=main.1+main.2&edition=ab',
    '#%E0%A4%A', '#quiz=K7&circuits=__proto__',
  ].map(q.fromAddress),
}));
"""


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory, node: str) -> dict[str, Any]:
    runner = tmp_path_factory.mktemp("quiz") / "run.js"
    runner.write_text(RUN, "utf-8")
    done = subprocess.run([node, runner, ASSETS / "quiz.js"], capture_output=True, check=False)
    assert done.returncode == 0, done.stderr.decode()
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def mixed(quiz: str, name: str, size: int) -> int:
    """The draw again, from its description: 32-bit FNV-1a, the last steps of MurmurHash3 (both from memory)."""
    value = 0x811C9DC5
    for byte in f"{quiz}/{name}".encode():
        value = (value ^ byte) * 0x01000193 % 2**32
    value = (value ^ value >> 16) * 0x85EBCA6B % 2**32
    value = (value ^ value >> 13) * 0xC2B2AE35 % 2**32
    return (value ^ value >> 16) % size


def test_a_draw_follows_its_description_and_favours_no_value(drawn: dict[str, Any]) -> None:
    assert drawn["draws"] == [mixed("K7QD2M", "circuits/1", 10**6), mixed("", "", 10**6), mixed("K7QD2M", "°/ø", 97)]
    counts = Counter(drawn["dice"])
    assert sum((counts[face] - 1000) ** 2 / 1000 for face in range(6)) < 20.5  # 5 degrees of freedom, p = 0.001 (scipy)


def test_the_same_name_gives_the_same_quiz_and_another_name_another(drawn: dict[str, Any]) -> None:
    assert drawn["again"][0] == drawn["again"][1]
    assert len({tuple(quiz) for quiz in drawn["quizzes"]}) == 200


def test_a_quiz_has_no_question_twice_and_never_more_than_there_are(drawn: dict[str, Any]) -> None:
    assert all(len(quiz) == len(set(quiz)) == 10 for quiz in drawn["quizzes"])
    assert len(set(drawn["all"])) == drawn["more"] == 40
    assert drawn["none"] == 0


def test_circuits_share_a_quiz_and_no_objective_comes_again_before_the_others(drawn: dict[str, Any]) -> None:
    circuits = Counter(aim.split(".")[0] for aim in drawn["spread"])
    assert circuits == {"float": 3, "main": 3, "power": 3}
    assert max(Counter(aim for aim in drawn["spread"] if not aim.startswith("power")).values()) == 1
    assert drawn["spread"] == sorted(drawn["spread"])  # in the order of the course
    taken = Counter(item for quiz in drawn["quizzes"] for item in quiz)
    assert len(taken) == 40  # over many quizzes every question comes


def test_copies_have_other_numbers_while_there_are_others(drawn: dict[str, Any]) -> None:
    assert all(len(set(copies)) == 4 for copies in drawn["variants"])
    assert {copies[0] for copies in drawn["variants"]} == set(range(7))
    assert drawn["single"] == [0, 0]


def test_an_address_that_makes_no_sense_is_left_out(drawn: dict[str, Any]) -> None:
    none, plain, path, wild, many, odd, long, full, broken, strange = drawn["read"]
    assert none == path == long == broken == {}
    assert plain["quiz"] == "K7"
    assert not {"questions", "copies"} & (set(wild) | set(many) | set(odd) | set(plain))
    assert full == {
        "quiz": "K7",
        "questions": 5,
        "copies": 2,
        "circuits": ["main", "power"],
        "levels": ["R"],
        "without": ["main.1", "main.2"],
        "edition": "ab",
    }
    assert strange["circuits"] == ["__proto__"]


# ------------------------------------------------------------------ in the browser


class Quiet(http.server.SimpleHTTPRequestHandler):
    """Serves a folder and says nothing."""

    def log_message(self, *_: object) -> None:
        """Keep the terminal for the tests."""


class Opened:
    """A page whose console and requests are watched."""

    def __init__(self, browser: Any, base: str, name: str, width: int = 390, scheme: str = "light", **more: Any) -> None:
        height = 844 if width < 1000 else 900
        self.context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=scheme, **more)
        self.page = self.context.new_page()
        self.said: list[str] = []
        self.outside: list[str] = []
        self.page.on("console", lambda one: self.said.append(one.text) if one.type in {"error", "warning"} else None)
        self.page.on("pageerror", lambda error: self.said.append(str(error)))
        self.page.on(
            "request", lambda asked: None if asked.url.startswith((base, "blob:", "data:")) else self.outside.append(asked.url)
        )
        self.page.goto(base + name)
        self.page.wait_for_load_state("load")

    def quiet(self) -> bool:
        return not self.said and not self.outside


@pytest.fixture
def opened(browser: Any, site: Path) -> Iterator[Any]:
    kept: list[Opened] = []

    def make(name: str, base: str = "", **more: Any) -> Opened:
        kept.append(Opened(browser, base or f"{site.as_uri()}/", name, **more))
        return kept[-1]

    yield make
    for one in kept:
        one.context.close()


def violations(page: Any) -> list[str]:
    page.evaluate(AXE)
    found = page.evaluate("axe.run({preload: false})")
    return [f"{one['id']}: {node['target']}" for one in found["violations"] for node in one["nodes"]]


def give(page: Any, **files: bytes) -> None:
    """Choose files on the page."""
    page.locator("#verify-files").set_input_files(
        [{"name": f"{name}.json", "mimeType": "application/json", "buffer": data} for name, data in files.items()]
    )
    page.wait_for_timeout(60)


def settled(page: Any, state: str) -> Any:
    box = page.locator(f"course-verify .practice-verdict[data-state='{state}']")
    box.wait_for()
    return box


@pytest.mark.browser
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1440])
@pytest.mark.parametrize("way", ["folder", "server"])
def test_a_certificate_is_checked_with_the_keys_that_are_given(
    way: str, width: int, scheme: str, opened: Any, served: str
) -> None:
    watched = opened("verify.html", served if way == "server" else "", width=width, scheme=scheme)
    page = watched.page
    page.wait_for_selector(".tool-drop")
    assert violations(page) == []
    give(page, anything=certificate())
    assert "issuer.json" in settled(page, "").inner_text()
    give(page, keys=document(), list=listed(3), certificate=certificate())
    text = settled(page, "good").inner_text()
    for said in (
        "Ottoline Marwick",
        "Main, power and pump circuits",
        issuers.fingerprint(KEY.public),
        day(-1),
        "no accreditation",
    ):
        assert said in text
    assert violations(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert watched.quiet()


@pytest.mark.browser
def test_each_state_is_shown_with_its_reason(opened: Any) -> None:
    watched = opened("verify.html")
    page = watched.page
    page.wait_for_selector(".tool-drop")
    give(page, issuer=document(), status=listed(5))
    for data, state, says in [
        (certificate(), "revoked", "the issuer has revoked it"),
        (certificate(place=6), "good", "it is not revoked"),
        (certificate(place=6, last=-1), "expired", "nothing was changed"),
        (certificate(place=6, since=3), "not yet valid", "it is valid from"),
        (certificate(place=6).replace(b"Ottoline", b"Ottolina"), "altered", "something was changed"),
        (certificate(place=6, key=OTHER), "unknown issuer", "no trusted issuer has"),
        (b'{"a": 1, "a": 2}', "unreadable", "stands twice"),
        (b"%PDF-2.0", "unreadable", "attached to it"),
    ]:
        give(page, certificate=data)
        text = settled(page, state).text_content()
        assert says in text
        assert ("Ottoline" in text) == (state in {"revoked", "good", "expired", "not yet valid"})
    give(page, status=listed(key=OTHER), certificate=certificate(place=6))
    assert "of no use" in settled(page, "status unknown").text_content()
    page.get_by_role("button", name="Take away: Status list").click()
    page.wait_for_function("!document.querySelector('.practice-verdict').textContent.includes('of no use')")
    assert "no status list says whether it was revoked" in settled(page, "status unknown").text_content()
    give(page, issuer=b'{"id": "x"}')
    page.locator(".tool-fault").wait_for()
    assert "names no key that may sign" in page.locator(".practice-verdict").inner_text()
    assert watched.quiet()


@pytest.mark.browser
def test_the_page_to_hang_up_is_checked_by_the_file_attached_to_it(opened: Any) -> None:
    watched = opened("verify.html")
    page = watched.page
    page.wait_for_selector(".tool-drop")

    def hand(data: bytes) -> None:
        page.locator("#verify-files").set_input_files([{"name": "c.pdf", "mimeType": "application/pdf", "buffer": data}])

    give(page, keys=document(), list=listed(3))
    sheet = certificate_pdf(certificate(), KEY.public, place="Weirgate")
    hand(sheet)
    text = settled(page, "good").inner_text()
    assert "Ottoline Marwick" in text
    assert "not what the page shows" in text
    assert "c.pdf, what is attached to it" in page.locator("course-verify").inner_text()
    hand(certificate_pdf(certificate(key=OTHER), OTHER.public, place="Weirgate"))
    assert "not what the page shows" in settled(page, "unknown issuer").inner_text()
    place = sheet.index(b"/EmbeddedFile")
    start = sheet.index(b"stream\n", place) + 40
    hand(sheet[:start] + bytes(60) + sheet[start + 60 :])  # torn: as if nothing were attached
    assert "page to hang up" in settled(page, "unreadable").inner_text()
    hand(b"%PDF-1.7 " + b"<<" * 200_000)  # nothing in a stranger's file holds the page up
    assert "page to hang up" in settled(page, "unreadable").inner_text()
    hand(sheet)
    settled(page, "good")
    assert watched.quiet()


@pytest.mark.browser
def test_by_keyboard_alone_a_pasted_certificate_is_checked_with_the_keys_of_the_site(
    browser: Any, course: Path, tmp_path: Path
) -> None:
    (course / "issuer").mkdir()
    (course / "issuer" / "issuer.json").write_bytes(document())
    (course / "issuer" / "status.json").write_bytes(listed())
    build_site(course, tmp_path / "site", variants=1)
    watched = Opened(browser, f"{(tmp_path / 'site').as_uri()}/", "verify.html")
    page = watched.page
    page.wait_for_selector(".tool-drop")
    assert "came with this site" in page.locator(".tool-held").inner_text()
    page.locator("#verify-files").focus()
    ring = page.evaluate("getComputedStyle(document.querySelector('label[for=verify-files]')).outlineStyle")
    assert ring == "solid"
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") == "verify-text"
    page.keyboard.insert_text(f"\n  {certificate().decode()}\n")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    assert "came with this site" in settled(page, "good").inner_text()
    assert page.locator("#verify-text").input_value() == ""
    assert violations(page) == []
    assert watched.quiet()
    give(page, issuer=document(OTHER))
    assert "the file you gave: issuer.json" in settled(page, "unknown issuer").inner_text()
    watched.context.close()


@pytest.mark.browser
def test_over_a_network_the_sites_newest_status_list_is_taken_and_without_one_that_of_the_build(
    browser: Any, course: Path, tmp_path: Path
) -> None:
    (course / "issuer").mkdir()
    (course / "issuer" / "issuer.json").write_bytes(document())
    (course / "issuer" / "status.json").write_bytes(listed())
    site = tmp_path / "site"
    build_site(course, site, variants=1)
    assert "issuer/status.json" not in (site / "worker.js").read_text("utf-8")  # it would be kept for ever
    newest = sign(status.status_list(SCHOOL.id, status_address(SCHOOL.id), [5], f"{day(0)}T00:00:00Z"))
    (site / "issuer" / "status.json").write_bytes(newest)
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Quiet, directory=str(site)))
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    watched = Opened(browser, f"http://127.0.0.1:{server.server_port}/", "verify.html")
    page = watched.page
    page.get_by_text("fetched from this site just now").wait_for()
    give(page, certificate=certificate())
    assert day(0) in settled(page, "revoked").inner_text()
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.reload()
    page.get_by_text("fetched from this site just now").wait_for()
    assert watched.quiet()
    page.wait_for_function("navigator.serviceWorker.controller || caches.keys().then((names) => names.length > 0)")
    server.shutdown()
    server.server_close()
    thread.join()
    page.reload()
    page.wait_for_selector(".tool-drop")
    give(page, certificate=certificate())
    assert "came with this site" in settled(page, "good").inner_text()
    watched.context.close()
    folder = Opened(browser, f"{site.as_uri()}/", "verify.html")
    folder.page.wait_for_selector(".tool-drop")
    give(folder.page, certificate=certificate())
    settled(folder.page, "good")
    assert folder.quiet()
    folder.context.close()


@pytest.mark.browser
def test_files_are_dropped_and_nothing_in_a_strangers_file_becomes_part_of_the_page(opened: Any) -> None:
    watched = opened("verify.html")
    page = watched.page
    page.wait_for_selector(".tool-drop")
    forged = json.loads(document())
    forged["id"] = "<img src=x onerror=alert(1)>\u202e"
    for method in forged["verificationMethod"]:
        method["controller"] = forged["id"]
    data = page.evaluate_handle(
        """([name, texts]) => { const held = new DataTransfer();
        for (const text of texts) held.items.add(new File([text], name)); return held; }""",
        ["<b>x</b>\u202egood.json", [canonical(forged).decode(), certificate().decode()]],
    )
    page.dispatch_event(".tool-drop", "drop", {"dataTransfer": data})
    settled(page, "unknown issuer")
    assert page.locator("course-verify :is(img, b)").count() == 0
    assert "\u202e" not in page.locator("course-verify").text_content()
    assert watched.quiet()


@pytest.mark.browser
def test_where_the_browser_cannot_check_it_says_so_and_names_the_command(opened: Any, browser: Any, site: Path) -> None:
    context = browser.new_context()
    context.add_init_script("SubtleCrypto.prototype.importKey = () => Promise.reject(new Error('not known'))")
    page = context.new_page()
    page.goto(f"{site.as_uri()}/verify.html")
    page.get_by_text("cannot check Ed25519 signatures").wait_for()
    assert "grader verify CERTIFICATE.json --issuer issuer.json" in page.locator("course-verify").inner_text()
    assert page.locator("course-verify input").count() == 0
    context.close()
    plain = opened("verify.html", java_script_enabled=False).page
    assert "grader verify CERTIFICATE.json" in plain.locator("course-verify").inner_text()
    assert "no accreditation" in plain.locator("article").inner_text()


QUIZ = "quiz.html#quiz=K7QD2M&questions=7&copies=2"


@pytest.mark.browser
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1440])
@pytest.mark.parametrize("way", ["folder", "server"])
def test_a_quiz_is_made_by_keyboard_and_fits_the_screen(way: str, width: int, scheme: str, opened: Any, served: str) -> None:
    watched = opened("quiz.html", served if way == "server" else "", width=width, scheme=scheme)
    page = watched.page
    page.wait_for_selector(".quiz-form")
    assert violations(page) == []
    page.locator("#quiz-questions").focus()
    page.keyboard.press("Control+A")
    page.keyboard.type("5")
    page.keyboard.press("Tab")
    page.keyboard.type("3")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_selector(".quiz-paper")
    assert page.evaluate("document.activeElement.className").startswith("quiz-ready")
    assert page.locator(".quiz-paper:not(.quiz-answers)").count() == 3
    assert page.locator(".quiz-answers").count() == 3
    assert page.locator(".quiz-paper").first.locator(".quiz-questions > li").count() == 5
    assert re.search(r"#quiz=\w{6}&questions=5&copies=3&edition=\w{8}$", page.url)
    assert violations(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    targets = "[...document.querySelectorAll('course-quiz :is(button, select, label:has(input))')]"
    low = page.evaluate(f"Math.min(...{targets}.map((one) => one.offsetHeight || 99))")
    assert low >= 48  # gloves
    assert watched.quiet()


@pytest.mark.browser
def test_the_same_address_gives_the_same_quiz_and_copies_have_other_numbers(opened: Any) -> None:
    first, again = (opened(QUIZ).page for _ in range(2))
    for page in (first, again):
        page.wait_for_selector(".quiz-answers")
    assert first.locator(".quiz-sheets").inner_text() == again.locator(".quiz-sheets").inner_text()
    one, two = (first.locator(f".quiz-paper[data-copy='{copy}']").first.inner_text() for copy in "AB")
    assert one != two
    assert re.sub(r"[\d.]+", "#", one.replace("copy A", "")).count("\n") > 20
    first.get_by_role("button", name="Other questions").click()
    assert "K7QD2M" not in first.url


LONG = "<math><mfrac><mrow>" + "<mo form='infix'>×</mo>".join(["<mn>0.00123456</mn>"] * 9) + "</mrow><mn>2</mn></mfrac></math>"


@pytest.mark.browser
def test_a_long_formula_of_the_key_is_folded_to_a_column_on_paper(opened: Any) -> None:
    page = opened("quiz.html#quiz=K7QD2M", width=1440).page
    formula = page.locator(".quiz-answers .course-formula").first
    formula.evaluate("(one, long) => { one.innerHTML = long; graderFit(); }", LONG)
    assert formula.locator(".formula-folded mtr").count() >= 2
    page.emulate_media(media="print")
    page.set_viewport_size({"width": 718, "height": 1000})  # A4 less two margins of 10 mm, at 96 px an inch
    assert formula.evaluate("(one) => one.scrollWidth - one.clientWidth") <= 0
    page.evaluate("() => { window.fitted = 0; graderFit = () => { fitted += 1; }; }")
    page.emulate_media(media="screen")
    page.get_by_role("button", name="Make the quiz").click()
    assert page.evaluate("fitted") == 1


@pytest.mark.browser
def test_the_worked_key_is_that_of_the_copys_own_numbers(opened: Any) -> None:
    page = opened(QUIZ).page
    page.wait_for_selector(".quiz-answers")
    for copy in "AB":
        paper = page.locator(f".quiz-paper[data-copy='{copy}']:not(.quiz-answers) .quiz-questions > li")
        key = page.locator(f".quiz-answers[data-copy='{copy}'] .quiz-questions > li")
        asked, worked = paper.filter(has_text="What area is left for fuel").first, None
        place = [one.inner_text() for one in paper.all()].index(asked.inner_text())
        worked = key.nth(place).inner_text()
        rod, jet = (float(number) * 25.4 for number in re.findall(r"(\d\.\d+)\s*in\b", asked.inner_text()))
        shown = re.search(r"Answer: ([\d.]+)", worked)
        assert shown is not None
        # Circle less circle, plane geometry.
        assert float(shown[1]) == pytest.approx(3.14159265 / 4 * (jet**2 - rod**2), rel=0.005)
    why = key.filter(has_text="A spring").first.inner_text()
    letter = why.partition(":")[0]
    assert f"{letter}\nA spring" in paper.filter(has_text="What lifts the rods?").inner_text()


@pytest.mark.browser
def test_only_what_is_chosen_is_asked_and_nothing_chosen_is_said(opened: Any) -> None:
    watched = opened("quiz.html")
    page = watched.page
    page.wait_for_selector(".quiz-form")
    total = page.locator(".quiz-fit").inner_text()
    assert total == "7 questions fit. The quiz will have all of them."
    page.locator(".quiz-aims summary").click()
    boxes = page.locator(".quiz-aims label")
    boxes.first.click()
    assert page.locator(".quiz-fit").inner_text() != total
    page.get_by_role("button", name="Make the quiz").click()
    page.wait_for_selector(".quiz-paper")
    assert "without=power.1" in page.url
    assert "What area is left" not in page.locator(".quiz-sheets").inner_text()
    again = opened(page.url.rpartition("/")[2]).page
    again.wait_for_selector(".quiz-paper")
    assert again.locator(".quiz-sheets").inner_text() == page.locator(".quiz-sheets").inner_text()
    page.get_by_role("button", name="None: What is asked").click()
    assert "No question fits" in page.locator(".quiz-fit").inner_text()
    page.get_by_role("button", name="All: What is asked").click()
    page.get_by_label("The power circuit").first.uncheck()
    assert "No question fits" in page.locator(".quiz-fit").inner_text()
    page.get_by_role("button", name="Make the quiz").click()
    assert watched.quiet()


@pytest.mark.browser
def test_an_address_of_another_edition_is_noticed_and_a_broken_one_makes_no_quiz(opened: Any) -> None:
    page = opened(QUIZ + "&edition=00000000").page
    page.wait_for_selector(".quiz-answers")
    assert "another edition" in page.locator(".quiz-warn").inner_text()
    broken = opened("quiz.html#quiz=%3Cb%3E&circuits=no.such")
    broken.page.wait_for_selector(".quiz-form")
    assert broken.page.locator(".quiz-paper").count() == 0
    assert broken.quiet()


@pytest.mark.browser
def test_on_paper_stand_the_questions_alone_and_each_key_on_pages_of_its_own(opened: Any) -> None:
    page = opened(QUIZ, width=1440, scheme="dark").page
    page.wait_for_selector(".quiz-answers")
    pages = pypdfium2.PdfDocument(page.pdf(format="A4"))
    texts = [one.get_textpage().get_text_range() for one in pages]
    heads = [re.search(r"Copy [AB]|Key to copy [AB]", text) for text in texts]
    assert all(head is not None for head in heads)  # no empty page, every page says what it is
    kinds = [head[0] for head in heads if head is not None]
    assert kinds == sorted(kinds)  # copy A, copy B, key to A, key to B
    assert set(kinds) == {"Copy A", "Copy B", "Key to copy A", "Key to copy B"}
    questions = "".join(text for text, kind in zip(texts, kinds, strict=True) if kind.startswith("Copy"))
    keys = "".join(text for text, kind in zip(texts, kinds, strict=True) if kind.startswith("Key"))
    assert "Open practice, not an examination" in questions
    assert "Answer:" not in questions
    assert "Answer:" in keys
    assert questions.count("A notice that only the tests read.") == 2  # the course's cautions, on each copy
    assert "Make the quiz" not in questions + keys
    assert pages[0].get_size() == pytest.approx((595, 842), abs=1)


def test_no_exam_question_stands_on_the_page_that_makes_quizzes(site: Path) -> None:
    text = (site / "quiz.html").read_text("utf-8") + "".join(path.read_text("utf-8") for path in (site / "packs").iterdir())
    exam = re.findall(
        r"^- id: (\S+)", (Path(__file__).parent / "course" / "questions" / "exam" / "power.yaml").read_text("utf-8"), re.M
    )
    assert exam
    assert not [name for name in exam if name in text]


def test_a_course_may_bring_pages_of_its_own_in_their_place(course: Path, tmp_path: Path) -> None:
    (course / "lessons" / "verify.md").write_text("---\ntitle: Ours\norder: 9\n---\n\nOur own words.\n", encoding="utf-8")
    build_site(course, tmp_path / "site", variants=1)
    assert "Our own words." in (tmp_path / "site" / "verify.html").read_text("utf-8")
    shutil.rmtree(tmp_path / "site")
