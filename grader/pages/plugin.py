"""
The course as a site: the mkdocs plugin `grader`.

It reads the course (practice items only), sets our blocks in the lessons, adds the packs and the assets, and puts the lessons in
order. Everything a person wrote wrongly is collected over all pages; if there is anything, the build ends with that list. The
pages are written while the items are still being drawn; what is wrong with an item ends the build all the same, and `build_site`
puts nothing into its place then.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence
from html import escape, unescape
from importlib.resources import files as package_files
from pathlib import Path
from typing import Any

from markupsafe import escape as as_text
from mkdocs.config import base, config_options
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import PluginError
from mkdocs.plugins import BasePlugin
from mkdocs.structure.files import File, Files
from mkdocs.structure.pages import Page as SitePage
from mkdocs.structure.toc import AnchorLink
from mkdocs.utils.meta import get_data

from grader.base.errors import FindingsError, GraderError, UseError
from grader.base.files import make_folder
from grader.base.findings import Finding
from grader.items.course import Course, load_practice
from grader.items.formula_numbers import FormulaNumbers, formula_numbers
from grader.items.glossary import FILE as GLOSSARY
from grader.items.glossary import Finder
from grader.items.model import Fence, Item
from grader.marking.browser import script as marker_script
from grader.marking.browser import slim
from grader.pages import fences, packs, study, tools
from grader.pages.bench import bench_html
from grader.pages.blocks import kept_block
from grader.pages.curves import curves_html, curves_style
from grader.pages.drawn import Draws
from grader.pages.explorer import explored, explorer_html, relations_script
from grader.pages.formulas import formulas_html
from grader.pages.glossary import Uses, kept_links, set_glossary, with_anchors
from grader.pages.kept import Kept, name_of
from grader.pages.lessons import Fault, Page, put_blocks, set_page
from grader.pages.names import unbroken
from grader.pages.offline import write_offline
from grader.pages.sample import sample_html
from grader.pages.searched import apart, quicken
from grader.pages.specimens import specimen_html
from grader.pages.stations import station_html
from grader.pages.tables import table_html

ASSETS = "assets/course"
OURS = (
    "attached.js",
    "bench.js",
    "course.css",
    "course-math.woff2",
    "course-math-OFL.txt",
    "drag.js",
    "explorer.js",
    "fields.js",
    "fit.js",
    "iframe-worker.js",
    "mark.svg",
    "page.js",
    "parts.js",
    "practice.js",
    "progress.js",
    "quiz.js",
    "store.js",
    "study.js",
    "tools.css",
    "verify-page.js",
    "verify.js",
    "worked.js",
)
RELATIONS = f"{ASSETS}/relations.js"
MIXED = "practice.md"
LAST = 10_000

_WIDE = re.compile(
    r"<table>(?P<inside>\s*<thead>\s*<tr>(?:\s*<t[hd]\b[^>]*>(?:(?!</?t[hdr]\b).)*</t[hd]>){5,}.*?)</table>", re.DOTALL
)

_CORNER = re.compile(r"<th\b[^>]*>\s*</th>")


class CourseError(FindingsError, PluginError):
    """Findings that end a build; mkdocs prints them without a traceback."""

    def __init__(self, findings: Sequence[Finding]) -> None:
        self.findings = tuple(findings)
        PluginError.__init__(self, "\n".join(map(str, findings)))


class CourseConfig(base.Config):  # type: ignore[no-untyped-call] # mkdocs leaves its class hook untyped
    """What may stand under the plugin in mkdocs.yml."""

    variants = config_options.Type(int, default=packs.VARIANTS)


class CoursePlugin(BasePlugin[CourseConfig]):  # type: ignore[no-untyped-call] # as above
    """Pages, packs and assets of a course."""

    kept = True
    """Whether a browser keeps the site for use without a network; not while it is written."""
    keep_in: Path | None = None
    """The folder where what is computed is kept for the next build; none keeps nothing."""

    def on_config(self, config: MkDocsConfig) -> MkDocsConfig:
        """Read the course and set what its pages need, whatever mkdocs.yml says."""
        folder = Path(config.docs_dir).parent
        self.course: Course = load_practice(folder)
        self.findings: list[Finding] = [*self.course.findings, *self.course.glossary.findings]
        self.pages: dict[str, Page] = {}
        self.store = Kept(self.keep_in)
        self.draws = Draws(self.course, self.store, self.config.variants)
        self.draws.start()
        try:
            self.issuer = tools.published_files(folder)
        except UseError as error:
            self.issuer = {}
            what, _, mend = str(error).partition("; ")
            self.findings.append(Finding("issuer", 0, "issuer-file", what, mend))
        config.use_directory_urls = False
        if not config.site_name or config.site_name == "Course":
            config.site_name = self.course.title or "Course"
        config.copyright = config.copyright or escape(self.course.about.notice)  # the course's cautions, below every page
        config.theme.static_templates -= {"404.html", "sitemap.xml"}  # neither works in a folder without an address
        config.extra_css = [f"{ASSETS}/course.css", f"{ASSETS}/figures.css", f"{ASSETS}/curves.css", *config.extra_css]
        config.extra_javascript += [f"{ASSETS}/page.js", f"{ASSETS}/fit.js"]
        return config

    def on_files(self, files: Files, config: MkDocsConfig) -> Files:
        """Add assets, packs and the page that mixes the circuits; leave out the drawings, which stand inline."""
        for file in list(files):
            if file.src_uri == "sitemap.xml" or (file.src_uri.startswith("figures/") and file.src_uri.endswith(".svg")):
                files.remove(file)
        assets = self._assets()
        for name, content in assets.items():
            files.append(File.generated(config, name, content=content))
        pages = {tools.VERIFY: tools.verify_page(ASSETS)}
        if self.course.practice:
            pages |= {MIXED: _MIXED_PAGE, study.PAGE: study.SOURCE, tools.QUIZ: self._quiz_page()}
        for name, content in pages.items():
            if files.get_file_from_path(name) is None:
                files.append(File.generated(config, name, content=content))
        if config.nav is None:
            config.nav = [
                {"Start": file.src_uri} if file.src_uri == "index.md" else file.src_uri
                for file in sorted(files.documentation_pages(), key=self._order)
            ]
        return files

    def _assets(self) -> dict[str, str | bytes]:
        found: dict[str, str | bytes] = {}
        for name in OURS:
            content = package_files("grader.pages").joinpath("assets", name).read_bytes()
            found[f"{ASSETS}/{name}"] = slim(content.decode("utf-8")) if name.endswith(".js") else content
        found[f"{ASSETS}/figures.css"] = package_files("grader.items").joinpath("figures.css").read_bytes()
        found[f"{ASSETS}/curves.css"] = curves_style()
        found[f"{ASSETS}/marker.js"] = marker_script()
        found[RELATIONS] = relations_script(explored([*self.course.lessons, *self.course.pages]), self.course.relations)
        found[f"{ASSETS}/issuer.js"] = tools.published_script(self.issuer)
        for name, published in self.issuer.items():
            found[f"issuer/{name}"] = published
        return found

    def _quiz_page(self) -> str:
        """The page that makes a quiz from all packs; which edition of them comes in when they are there."""
        return tools.quiz_page(ASSETS, list(self._by_circuit()), self._quiz_settings())

    def _quiz_settings(self) -> dict[str, object]:
        counts = Counter(item.objective for item in self.course.practice)
        title, notice = self.course.title, self.course.about.notice
        return tools.quiz_settings(self.course.lessons, counts, title=title, notice=notice, packs=[])

    def _write_packs(self, site: Path) -> None:
        """The packs, once every item is drawn, and their edition in the page that makes a quiz."""
        made = []
        for circuit, items in self._by_circuit().items():
            made.append(packs.pack_script(circuit, [self.draws.entries[item.id] for item in items]))
            (make_folder(site / "packs") / f"{circuit}.js").write_bytes(made[-1].encode())
        if self.quiz is not None:
            page = site / self.quiz.dest_uri
            page.write_bytes(tools.with_edition(page.read_bytes().decode(), self._quiz_settings(), made).encode())

    def _by_circuit(self) -> dict[str, list[Item]]:
        found: dict[str, list[Item]] = {}
        for item in self.course.practice:
            found.setdefault(item.circuit, []).append(item)
        return found

    def _order(self, file: File) -> tuple[int, str]:
        """Where a page stands in the contents: the index, then by the order each page gives itself, our own pages last."""
        if file.src_uri == "index.md":
            return (-1, "")
        if file.generated_by:
            return (LAST + (1 if file.src_uri in {MIXED, study.PAGE} else 2), file.src_uri)
        _, head = get_data(file.content_string)
        order = head.get("order", LAST)
        if not isinstance(order, int):
            mend = "write a whole number: `order: 3`"
            self.findings.append(
                Finding(f"lessons/{file.src_uri}", 1, "bad-order", f"`order: {order}` is not a whole number", mend)
            )
            order = LAST
        return (order, file.src_uri)

    def on_page_markdown(self, markdown: str, page: SitePage, config: MkDocsConfig, files: Files) -> str:  # noqa: ARG002
        """Take our blocks out of a page, compute its inline numbers."""
        source = page.file.content_string.replace("\r\n", "\n")
        first = source.count("\n") - markdown.count("\n") + 1
        ours = Page(f"lessons/{page.file.src_uri}", f"p{len(self.pages)}")
        self.pages[page.file.src_uri] = ours
        if ours.file == GLOSSARY:
            markdown = with_anchors(markdown, self.course.glossary.terms, first)
        text = set_page(
            markdown,
            first,
            ours,
            self._set_block,
            lambda inside: fences.inline_number(inside, self.course.relations, self.course.specimens),
        )
        self.findings.extend(ours.findings)
        return text

    def _set_block(self, fence: Fence, page: Page) -> str:
        """One of our blocks as HTML, by its word."""
        course = self.course
        blocks: dict[str, Callable[[], str]] = {
            "relation": lambda: fences.relation_html(fence, course.relations),
            "worked": lambda: fences.worked_html(fence, course.relations, course.specimens),
            "figure": lambda: fences.figure_block(fence, page, course.figures),
            "formulas": lambda: formulas_html(fence, self._formula_numbers(page)),
            "explorer": lambda: explorer_html(fence, page, course.relations, course.specimens),
            "bench": lambda: bench_html(fence, page, course.specimens),
            "curves": lambda: curves_html(fence, page, course.specimens),
            "table": lambda: table_html(fence),
            "specimen": lambda: specimen_html(fence, page, course.specimens),
            "station": lambda: station_html(fence, course.stations),
            "practice": lambda: self._practice(fence, page),
        }
        if fence.word == "practice":  # it names the items that there are
            return blocks[fence.word]()
        return kept_block(fence, page, self.store, self.draws.origins, blocks[fence.word])

    def _formula_numbers(self, page: Page) -> FormulaNumbers:
        """The numbers that all blocks of formulas on a page are worked with."""
        fences = [fence for one in (*self.course.lessons, *self.course.pages) if one.file == page.file for fence in one.fences]
        try:
            return formula_numbers(fences, self.course.relations, self.course.specimens)
        except GraderError as error:
            raise Fault.of("wrong-block", error, "write each line as `FORMULA: SYMBOL = value`") from error

    def _practice(self, fence: Fence, page: Page) -> str:
        """A `practice` block: which items, and the first of them to read where no script runs."""
        asked = [line for line in fence.lines if line]
        kind, _, name = (asked[0] if len(asked) == 1 else "").partition(":")
        kind, name = kind.strip(), name.strip()
        if kind not in {"circuit", "objective", "item"} or not name:
            mend = "write `circuit: power`, `objective: power.1`, `item: power-open-area` or `circuit: all`"
            raise Fault("wrong-block", "a `practice` block says in one line what to practise", mend)
        items = [item for group in self._by_circuit().values() for item in group if _asked(item, kind, name)]
        if not items:
            there = sorted({_names(item)[kind] for item in self.course.practice})
            raise Fault("nothing-to-practise", f"no practice item has the {kind} `{name[:60]}`", fences.nearest(name, there))
        circuits = list(dict.fromkeys(item.circuit for item in items))
        page.packs += [circuit for circuit in circuits if circuit not in page.packs]
        whole = kind == "circuit"
        chosen = "" if whole else " ".join(item.id for item in items)
        mixed = " data-mixed" if name == "all" else ""
        sample = self._sample(items[0], f"{page.mark}s{len(page.blocks)}")
        asks = f'data-packs="{escape(" ".join(circuits))}" data-items="{escape(chosen)}"{mixed}'
        return f"<course-practice {asks} data-search-exclude>{sample}</course-practice>"

    def _sample(self, item: Item, mark: str) -> str:
        """The first variant of an item, to read; nothing where none can be drawn, which is found when the packs are made."""
        name = self.draws.origins.item(item, "sample", packs.SECRET, mark)
        found = None if name is None else self.store.find(name)
        if found is not None:
            return found
        try:
            html = sample_html(packs.draw_variants(item, 1, self.course.figures)[0], mark)
        except GraderError:
            return ""
        if name is not None and self.draws.origins.item(item, "sample", packs.SECRET, mark) == name:
            self.store.keep(name, html, "sample")
        return html

    def on_page_content(self, html: str, page: SitePage, config: MkDocsConfig, files: Files) -> str:  # noqa: ARG002
        """Put our blocks back in, with the aims of the lesson on top and, where there is practice, its scripts below."""
        ours = self.pages[page.file.src_uri]
        text = self._with_blocks(html, ours)
        _add_contents(page, ours)
        if page.is_homepage and "<h1" not in text:  # the contents call it Start; its heading is the course's own
            text = f"<h1>{escape(str(page.meta.pop('title', config.site_name)))}</h1>{text}"
        studied = page.file.src_uri == study.PAGE
        if studied:
            text = study.with_course(text, study.study_data(self.course.lessons, self._by_circuit()))
        up = "../" * page.file.dest_uri.count("/")
        asked = ours.packs or studied
        scripts = [f"{ASSETS}/parts.js"] if asked or ours.explored or ours.benches else []
        scripts += [f"{ASSETS}/{name}" for name in ("marker.js", "progress.js", *packs.SCRIPTS)] if asked else []
        scripts += [f"packs/{name}.js" for name in ours.packs] + ([f"{ASSETS}/study.js"] if studied else [])
        scripts += [RELATIONS, f"{ASSETS}/explorer.js"] if ours.explored else []
        scripts += [f"{ASSETS}/bench.js"] if ours.benches else []
        return self._aims(page) + text + "".join(f'<script defer src="{up}{escape(name)}"></script>' for name in scripts)

    def _with_blocks(self, html: str, page: Page) -> str:
        """The page's HTML with its blocks, its wide tables, and what a phone must not break."""
        name = name_of("page", html, *page.blocks, *page.blocks.values(), "", *self.course.specimens)

        def made() -> str:
            return apart(unbroken(put_blocks(_with_wide_tables(html), page), self.course.specimens))

        return self.store.text(name, made, "page")

    def _aims(self, page: SitePage) -> str:
        """What a learner can do after the lesson, each aim leading to its section."""
        lesson = next((one for one in self.course.lessons if one.file == f"lessons/{page.file.src_uri}"), None)
        if lesson is None or not lesson.objectives:
            return ""
        rows = []
        for aim in lesson.objectives:
            says = escape(aim.says)
            rows.append(f'<li><a href="#{escape(aim.id)}">{says}</a></li>' if aim.id in lesson.anchors else f"<li>{says}</li>")
        title = "After this lesson you can do this"
        return f'<nav class="course-aims" aria-label="{title}"><p>{title}</p><ul>{"".join(rows)}</ul></nav>'

    def on_env(self, env: Any, config: MkDocsConfig, files: Files) -> Any:
        """All pages are read and nothing is written yet: the place to say what is wrong, with the items if anything is."""
        if self._errors():
            self.draws.finish()
            raise CourseError(self._errors())
        quiz = files.get_file_from_path(tools.QUIZ)
        self.quiz = quiz if quiz is not None and quiz.generated_by else None
        quicken(config, self.store)
        if self.course.glossary.terms:
            self._link_terms([file for file in sorted(files.documentation_pages(), key=self._order) if file.page is not None])
        # The theme sets titles as they come: `Gaps < 1 mm` would be a tag.
        config.site_name = as_text(config.site_name)
        for page in (file.page for file in files.documentation_pages() if file.page is not None):
            page.title = as_text(page.title or "")
            if "title" in page.meta:
                page.meta["title"] = page.title
        return env

    def on_post_build(self, config: MkDocsConfig) -> None:
        """The pages are written: the packs come beside them, then the worker that keeps all files can name them."""
        self.draws.finish()
        if self._errors():
            raise CourseError(self._errors())
        self._write_packs(Path(config.site_dir))
        write_offline(Path(config.site_dir), unescape(config.site_name), self.course.about.language, kept=self.kept)
        self.store.close()

    def _errors(self) -> list[Finding]:
        return sorted({finding for finding in (*self.findings, *self.draws.findings) if finding.level == "error"})

    def on_build_error(self, *, error: Exception) -> None:  # noqa: ARG002 - mkdocs hands it over
        """Nothing goes on after an error."""
        if hasattr(self, "draws"):
            self.draws.stop()
            self.store.close()

    def _link_terms(self, files: Sequence[File]) -> None:
        """Terms of the glossary in every page, once all pages are known; the glossary itself last."""
        finder, uses = Finder(self.course.glossary.terms), Uses()
        for file in files:
            page = file.page
            if page is not None and page.content and f"lessons/{file.src_uri}" != GLOSSARY:
                page.content = kept_links(page.content, finder, file.dest_uri, str(page.title), uses, self.store)
        for file in files:
            if file.page is not None and file.page.content and f"lessons/{file.src_uri}" == GLOSSARY:
                file.page.content = set_glossary(file.page.content, finder, uses)


_MIXED_PAGE = """---
title: Mixed practice
---

Questions from every circuit: those [due again](study.md) first, then those not tried yet, in a new order each time the page is
opened. The numbers are new each time too.

```practice
circuit: all
```
"""


def _names(item: Item) -> dict[str, str]:
    return {"circuit": item.circuit, "objective": item.objective, "item": item.id}


def _asked(item: Item, kind: str, name: str) -> bool:
    return name == _names(item)[kind] or (kind, name) == ("circuit", "all")


def _add_contents(page: SitePage, ours: Page) -> None:
    """Put the headings of our blocks into the page's contents, behind its own."""
    top = page.toc.items
    below = top[0].children if len(top) == 1 and top[0].level == 1 else top
    below += [AnchorLink(heading.words, heading.anchor, heading.level) for heading in ours.headings]


def _with_wide_tables(html: str) -> str:
    """Tables of five columns and more scroll inside a block that the keyboard reaches; an empty corner is no heading."""
    html = _CORNER.sub("<td></td>", html)
    block = '<div class="course-scroll" role="group" aria-label="Table" tabindex="0">'
    return _WIDE.sub(rf'{block}<table class="course-table">\g<inside></table></div>', html)
