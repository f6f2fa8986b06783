"""Building the site: into a neighbour folder first, swapped into place when it is whole; or served while it is being written."""

from __future__ import annotations

import gc
import logging
import re
import secrets
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from html import escape
from importlib.resources import files as package_files
from pathlib import Path

from mkdocs.commands.build import build
from mkdocs.config import load_config
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import MkDocsException
from mkdocs.livereload import LiveReloadServer

from grader.base.errors import FindingsError, UseError
from grader.base.files import make_folder, write_atomic
from grader.base.findings import Finding
from grader.pages.packs import VARIANTS
from grader.pages.plugin import ASSETS, CoursePlugin

HOST = "127.0.0.1"

_IN_PAGE = re.compile(r"Doc file '(?P<file>[^']+)' contains (?:a|an) [^']*'(?P<link>[^']+)'")


@dataclass(frozen=True, slots=True)
class Site:
    """What was built: where, how many pages, how many practice items."""

    folder: Path
    pages: int
    items: int


def kept_in(course: Path) -> Path:
    """
    Where a course keeps what was computed for its site.

    With the course, not with the output or the user: it goes with `make clean`, and serving, which has no output, has it too.
    """
    return course / "build" / "cache"


def site_config(course: Path, output: Path, variants: int = VARIANTS, keep_in: Path | None = None) -> MkDocsConfig:
    """
    The mkdocs configuration of a course: its own mkdocs.yml, or ours where it has none.

    `keep_in` is the folder in which what is computed is kept for the next build.

    Raises `UseError` where the folder is no course, the number of variants is not 1 to 1000, or mkdocs.yml is not one.
    """
    if not (course / "lessons").is_dir() or not (course / "questions").is_dir():
        raise UseError(f"{course} is not a course; name a folder that has `lessons` and `questions` in it")
    if not 1 <= variants <= 1000:
        raise UseError(f"{variants} variants; ask for 1 to 1000")
    own = course / "mkdocs.yml"
    file = own if own.is_file() else Path(str(package_files("grader.pages").joinpath("site.yml")))
    try:
        config = load_config(str(file), docs_dir=str((course / "lessons").resolve()), site_dir=str(output.resolve()))
    except MkDocsException as error:
        raise UseError(f"{file}: {error.format_message()}; mend it, or take it out to use the built-in one") from error
    plugin = config.plugins.get("grader")
    if not isinstance(plugin, CoursePlugin):
        raise UseError(
            f"{file}: the plugin `grader` is missing; add it under `plugins`, or take the file out to use the built-in one"
        )
    plugin.config["variants"] = variants
    plugin.keep_in = keep_in
    return config


def build_site(course: Path, output: Path, variants: int = VARIANTS, keep_in: Path | None = None) -> Site:
    """
    Build a course's site into a folder; what stood there before is replaced only when the new one is whole.

    Parameters
    ----------
    course, output : Path
        The course's folder, and where the site goes.
    variants : int
        How many variants of each practice item a pack holds, 1 to 1000.
    keep_in : Path or None
        The folder in which what is computed is kept for the next build, as `kept_in` says; without one, nothing is kept.

    Raises
    ------
    FindingsError
        Everything wrong in the lessons and the practice items, at once.
    UseError
        The folder is no course, or `output` holds something that is not a site of ours.
    """
    refuse_strange(output)
    make_folder(output.resolve().parent)
    neighbour = output.resolve().with_name(f".{output.name}.{secrets.token_hex(4)}.part")
    try:
        make_folder(neighbour)
        config = site_config(course, neighbour, variants, keep_in)
        build_once(config)
        swap(neighbour, output.resolve())
    except OSError as error:
        raise UseError(f"{output}: cannot be written ({error.strerror}); check the folder, its space and permissions") from error
    finally:
        shutil.rmtree(neighbour, ignore_errors=True)
    plugin = config.plugins["grader"]
    if not isinstance(plugin, CoursePlugin):
        raise UseError("another plugin calls itself `grader`; take it out of mkdocs.yml")
    return Site(output, len(plugin.pages), len(plugin.draws.entries))


def refuse_strange(output: Path) -> None:
    """Refuse a folder that is neither empty nor a site that was built here: a slip of the hand must not clear a folder."""
    if output.is_symlink() or (output.exists() and not output.is_dir()):
        raise UseError(f"{output} is not a folder; name another")
    if output.is_dir() and any(output.iterdir()) and not (output / ASSETS / "practice.js").is_file():
        raise UseError(f"{output} holds something else than a site; name another folder, or empty it")


def swap(new: Path, place: Path) -> None:
    """Put a folder in another's place; the old one goes only after the new one stands."""
    old = place.with_name(f".{place.name}.{secrets.token_hex(4)}.old")
    try:
        if place.exists():
            place.rename(old)
        new.rename(place)
    except OSError as error:
        if old.exists() and not place.exists():
            old.rename(place)
        raise UseError(f"{place}: cannot be written ({error.strerror}); check the folder, its space and permissions") from error
    shutil.rmtree(old, ignore_errors=True)


def build_once(config: MkDocsConfig, serve_url: str | None = None) -> None:
    """One build; what mkdocs only warns of (a link that leads nowhere) is a finding too. Raises `FindingsError`."""
    findings: list[Finding] = []
    with warnings_kept() as warned, _no_sweeps():
        try:
            build(config, serve_url=serve_url)
        except MkDocsException as error:
            cause = error.__context__
            if not isinstance(cause, FindingsError):
                raise UseError(f"the site cannot be built: {error.format_message()}; mend what it names") from error
            findings += cause.findings
    findings += {link_finding(text, Path(config.docs_dir)) for text in warned}
    if findings:
        raise FindingsError(sorted(findings))


@contextmanager
def _no_sweeps() -> Iterator[None]:
    """A build leaves next to nothing that only a sweep for cycles would find: that takes a tenth of the time for 3 of 110 MB."""
    sweeps = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if sweeps:
            gc.enable()


@contextmanager
def warnings_kept() -> Iterator[list[str]]:
    """mkdocs' warnings as a list, instead of on the terminal."""
    kept: list[str] = []

    class Keep(logging.Handler):
        def emit(self, record: logging.LogRecord) -> None:
            if record.levelno == logging.WARNING:
                kept.append(record.getMessage())

    logger, keep = logging.getLogger("mkdocs"), Keep()
    spread, logger.propagate = logger.propagate, False
    logger.addHandler(keep)
    try:
        yield kept
    finally:
        logger.removeHandler(keep)
        logger.propagate = spread


def link_finding(text: str, lessons: Path) -> Finding:
    """A warning of mkdocs as a finding, with the line where the link stands if the warning names one."""
    found = _IN_PAGE.search(text)
    if found is None:
        return Finding("lessons", 0, "site-warning", " ".join(text.split()), "mend what it names")
    line = 0
    try:
        lines = (lessons / found["file"]).read_text("utf-8").splitlines()
        line = next((number for number, row in enumerate(lines, 1) if f"({found['link']}" in row), 0)
    except (OSError, UnicodeDecodeError):  # the place is a help, not the message
        pass
    what = f"the link `{found['link']}` leads nowhere"
    return Finding(f"lessons/{found['file']}", line, "broken-link", what, "write a page of this folder, or an anchor that it has")


def serve_site(course: Path, port: int, say: Callable[[str], None], variants: int = VARIANTS) -> None:
    """
    Serve the site on this machine only and build it anew whenever a file of the course changes, until interrupted.

    What is wrong goes to `say`; the last good site stays up. Raises `UseError` where the port is taken.
    """
    work = Path(tempfile.mkdtemp(prefix="grader-site-")).resolve()
    folder, coming = work / "site", make_folder(work / "coming")
    address = f"http://{HOST}:{port}/"

    def builder() -> None:
        try:
            config = site_config(course, coming, variants, kept_in(course))
            config.plugins["grader"].kept = False  # type: ignore[attr-defined] # ours, as `site_config` has seen
            build_once(config, serve_url=address)
            swap(coming, folder)
            say(f"built; {address}")
        except (FindingsError, UseError) as error:
            say(str(error))
            if not folder.exists():
                page = f"<!doctype html><title>Findings</title><pre>{escape(str(error))}</pre>"
                write_atomic(make_folder(folder) / "index.html", page)

    server = LiveReloadServer(builder=builder, host=HOST, port=port, root=str(folder))
    try:
        builder()
        for watched in (course / "lessons", course / "questions"):
            server.watch(str(watched))
        server.serve()  # type: ignore[no-untyped-call] # mkdocs leaves it untyped
    except KeyboardInterrupt:
        pass
    except OSError as error:
        raise UseError(f"port {port}: {error.strerror}; name another with --port") from error
    finally:
        server.shutdown()
        shutil.rmtree(work, ignore_errors=True)
