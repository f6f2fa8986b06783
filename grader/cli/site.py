"""`grader site`: the lessons and their practice as a folder of pages."""

from __future__ import annotations

from pathlib import Path

import click


@click.command(epilog="Example: grader site --output /media/card/course")
@click.option(
    "--output", type=click.Path(path_type=Path), default=Path("build/site"), show_default=True, help="Where the site goes."
)
@click.option("--course", type=click.Path(path_type=Path), default=Path(), help="The course's folder; here if left out.")
@click.option("--variants", type=click.IntRange(1, 1000), default=40, show_default=True, help="Variants of each practice item.")
@click.option("--serve", is_flag=True, help="Serve it on this machine and rebuild while you write; findings appear here.")
@click.option("--port", type=click.IntRange(1, 65535), default=8000, show_default=True, help="Where --serve listens.")
def command(output: Path, course: Path, variants: int, serve: bool, port: int) -> int:
    """
    Build the static site: lessons, worked examples, practice with new numbers.

    It needs no server and no network: open index.html in the folder, or copy the folder to a phone.
    What is wrong in a lesson or an item is listed as file:line, and the site that stood there stays as it was.
    What was computed is kept in build/cache of the course, so that the next build is quick; the folder may be deleted.
    """
    from grader.pages.build import build_site, kept_in, serve_site

    if serve:
        serve_site(course, port, lambda line: click.echo(line, err=True), variants)
        return 0
    site = build_site(course, output, variants, kept_in(course))
    click.echo(
        f"{site.pages} pages, {site.items} practice items with up to {variants} variants each: {site.folder / 'index.html'}"
    )
    return 0
