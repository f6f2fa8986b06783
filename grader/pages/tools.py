"""
The two tool pages of a site: one that checks a certificate, one that makes an open quiz of the practice questions.

Both are plain pages that say what they do; the scripts `verify.js`, `verify-page.js` and `quiz.js` make them work. What a school
publishes for whoever checks its certificates goes with the site as it is, unread.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from html import escape
from pathlib import Path

from grader.base.canon import canonical, digest
from grader.base.errors import UseError
from grader.base.files import read_capped
from grader.items.model import Lesson
from grader.pages.packs import SCRIPTS

VERIFY, QUIZ = "verify.md", "quiz.md"
PUBLISHED = ("issuer.json", "status.json")
LIMIT = 1024 * 1024  # bytes of a published file; the same as where it is checked
LEVELS = {"R": "Recall", "E": "Explain", "C": "Compute", "D": "Diagnose", "P": "Practical"}


def published_files(course: Path) -> dict[str, str]:
    """
    What the issuer publishes, by name: its document and its status list from the course's folder ``issuer``; empty without one.

    Raises `UseError` where one of them is no text or larger than a mebibyte.

    >>> published_files(Path("no such course"))
    {}
    """
    found = {}
    for name in PUBLISHED:
        file = course / "issuer" / name
        if not file.is_file():
            continue
        try:
            found[name] = read_capped(file, LIMIT).decode("utf-8")
        except UnicodeDecodeError as error:
            raise UseError(f"{file}: not UTF-8; take the file that the program wrote") from error
    return found if PUBLISHED[0] in found else {}


def published_script(files: Mapping[str, str]) -> str:
    """
    What the issuer publishes as a classic script, so that it is at hand from a folder too.

    >>> published_script({"issuer.json": "{}"})
    'globalThis.graderIssuer = {"issuer.json": "{}"};\\n'
    """
    return f"globalThis.graderIssuer = {json.dumps(dict(files), ensure_ascii=True, sort_keys=True)};\n"


def verify_page(assets: str) -> str:
    """The page that checks a certificate, as Markdown; `assets` is where the scripts lie, seen from the page."""
    return _VERIFY + _loads(assets, "tools.css", ("issuer.js", "verify.js", "parts.js", "attached.js", "verify-page.js"))


def quiz_page(assets: str, packs: Sequence[str], settings: Mapping[str, object]) -> str:
    """The page that makes a quiz, as Markdown, with what can be chosen on it (`quiz_settings`)."""
    data = json.dumps(settings, ensure_ascii=False, sort_keys=True).replace("<", "\\u003c")
    element = (
        f'<div><course-quiz data-packs="{escape(" ".join(packs))}" data-search-exclude>'
        "<p><strong>Making a quiz needs a browser that runs scripts.</strong> "
        "Without them, each lesson shows a practice question with its worked answer.</p>"
        f'<script type="application/json">{data}</script></course-quiz></div>\n'
    )
    scripts = _loads(assets, "tools.css", ("parts.js", *SCRIPTS, "quiz.js"))
    return f"{_QUIZ}\n{element}{scripts}{_scripts(f'packs/{name}.js' for name in packs)}"


def quiz_settings(
    lessons: Iterable[Lesson], counts: Mapping[str, int], *, title: str, notice: str, packs: Iterable[str]
) -> dict[str, object]:
    """
    What can be chosen for a quiz: the objectives of each circuit that have practice questions.

    Parameters
    ----------
    lessons : iterable of Lesson
        In their order.
    counts : mapping
        How many practice questions each objective has, by its id.
    title, notice : str
        The course's.
    packs : iterable of str
        The packs' text: the edition is their digest, so that a link made with other questions is noticed.

    >>> quiz_settings([], {}, title="Rods", notice="", packs=["a"])["edition"]
    '0eb5b8d6'
    """
    circuits: list[dict[str, object]] = []
    used: set[str] = set()
    for lesson in lessons:
        asked = [aim for aim in lesson.objectives if counts.get(aim.id)]
        used |= {aim.level for aim in asked}
        aims = [{"id": aim.id, "says": aim.says, "level": aim.level, "count": counts[aim.id]} for aim in asked]
        if aims:
            circuits.append({"circuit": lesson.circuit, "title": lesson.title, "objectives": aims})
    levels = [{"level": level, "says": says} for level, says in LEVELS.items() if level in used]
    edition = digest(canonical(list(packs)))[:8]
    return {"title": title, "notice": notice, "edition": edition, "circuits": circuits, "levels": levels}


def with_edition(html: str, settings: Mapping[str, object], packs: Iterable[str]) -> str:
    """
    The quiz page, set before its packs were there, with the edition of these packs' text.

    >>> settings = quiz_settings([], {}, title="Rods", notice="", packs=[])
    >>> with_edition(f'{{"edition": "{settings["edition"]}"}}', settings, ["a"])
    '{"edition": "b1d1582f"}'
    """
    edition = digest(canonical([digest(text.encode()) for text in packs]))[:8]
    return html.replace(json.dumps({"edition": settings["edition"]})[1:-1], json.dumps({"edition": edition})[1:-1])


def _loads(assets: str, sheet: str, names: Iterable[str]) -> str:
    return f'\n<link rel="stylesheet" href="{assets}/{sheet}">\n' + _scripts(f"{assets}/{name}" for name in names)


def _scripts(names: Iterable[str]) -> str:
    return "".join(f'<script defer src="{escape(name)}"></script>\n' for name in names)


_VERIFY = """---
title: Check a certificate
---

A certificate is a small signed file whose name ends in `.json`. Here you see whether it is good: whether the school signed it,
whether anything was changed since, whether it has run out, and whether it was revoked. It is checked on this device, with or
without a network. Nothing you drop or paste here leaves it, and nothing is kept.

<div><course-verify data-search-exclude>
<p><strong>Checking here needs a browser that runs scripts.</strong> On a computer that has the program, this command says the
same:</p>
<pre><code>grader verify CERTIFICATE.json --issuer issuer.json</code></pre>
</course-verify></div>

## What you need

- **The certificate**, from whoever shows it: the signed file, or the page to hang up as a PDF, to which it is attached.
- **The school's keys**, a file called `issuer.json`: from the school itself, never from the person who shows the certificate.
- **The status list**, a file called `status.json`: from the school. It names what was revoked; a newer one knows more.

Without `status.json` nobody can say whether a certificate was revoked: then the best answer is "status unknown".

## How far to trust the answer

The answer is only as good as `issuer.json`. Whoever makes a key of their own can sign anything with it. So compare the key's
fingerprint, which stands below each answer, with the one that the school gives over the telephone or in print.

## What a good certificate does not say

- It claims no accreditation. Neither this page nor the program behind it knows whether any authority recognises the school.
- It does not say that the person before you is the one it names. Ask for a document that does.
- It does not say what the holder can do today. It says what was shown in an examination on a certain day, under a stated rule.
- It is no permission to work on vehicles, fuel or emission equipment. Local law decides that.
"""

_QUIZ = """---
title: Make a quiz
---

For instructors: choose what to ask, press the button, print. The questions are those of the course's practice, the numbers are
drawn anew for each copy, and the worked key stands on pages of its own behind the questions.

A quiz is open practice, not an examination. Its questions and their answers are open to everyone on this site, and no
examination draws from them. The same address gives the same quiz again.
"""
