"""`grader show`: an item as its author wants to see it."""

from __future__ import annotations

from pathlib import Path

import click

from grader.base.errors import FindingsError, UseError

EPILOG = """\b
Examples:
  grader show power-open-area
  grader show power-open-area --variants 5 --html item.html
"""


@click.command("show", epilog=EPILOG)
@click.argument("item_id", metavar="ITEM")
@click.option("--course", "folder", default=".", type=click.Path(path_type=Path), help="The course's folder; here, if left out.")
@click.option("--variants", default=3, show_default=True, type=click.IntRange(1, 200), help="How many variants to draw.")
@click.option("--html", "page", type=click.Path(path_type=Path, dir_okay=False), help="Write a page to look at into this file.")
def command(item_id: str, folder: Path, variants: int, page: Path | None) -> int:
    """Show variants of ITEM with stem, key, bounds, slips and working.

    The page holds the key: it is for authors, not for learners.
    """
    from grader.base.files import write_atomic
    from grader.items.course import load_course
    from grader.items.item_checks import check_item
    from grader.items.shapes import nearest
    from grader.items.showing import as_page, as_text, drawn

    course = load_course(folder)
    item = course.items.get(item_id)
    if item is None:
        if any(item_id == broken for _, broken, _ in course.broken):
            raise FindingsError(finding for finding in course.findings if finding.path.split("/")[0] == item_id)
        near = nearest(item_id.replace("-", "_"), [name.replace("-", "_") for name in course.items]).replace("_", "-")
        raise UseError(f"there is no item `{item_id}`; " + (f"did you mean `{near}`?" if near else "the ids stand in questions/"))
    told = [finding for finding in course.findings if finding.path.split("/")[0] == item_id]
    wrong = [finding for finding in (*told, *check_item(item)) if finding.level == "error"]
    if wrong:
        raise FindingsError(wrong)
    questions = drawn(item, course.figures, variants)
    if page is not None:
        write_atomic(page, as_page(item, questions))
        click.echo(f"{page}: {variants} variants of {item_id}", err=True)
    else:
        click.echo(as_text(item, questions), nl=False)
    return 0
