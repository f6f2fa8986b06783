"""
What lets a served course be installed and opened without a network: a manifest, and a service worker that knows every file.

From a folder neither is needed, and neither runs: the pages ask for them only where they came over http.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from importlib.resources import files as package_files
from pathlib import Path

from grader.base.canon import canonical, digest

WORKER = "worker.js"
MANIFEST = "manifest.webmanifest"
STATUS = "issuer/status.json"  # what was revoked: kept, it would soon be old
LEFT_OUT = frozenset({WORKER, MANIFEST, STATUS})

GONE = """'use strict';
// While the course is written nothing is kept: what an earlier visit kept goes.
self.addEventListener('install', () => self.skipWaiting());
self.addEventListener('activate', (event) => event.waitUntil((async () => {
  const own = `course-${self.registration.scope} `;
  for (const name of await caches.keys()) if (name.startsWith(own)) await caches.delete(name);
  await self.registration.unregister();
})()));
"""
"""The worker of a site that is served while it is written."""


def site_files(site: Path) -> dict[str, str]:
    """
    Every file of a built site by its path below the folder, with its digest; but for source maps and `LEFT_OUT`.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     _ = Path(folder, "index.html").write_text("<p>Jet</p>", encoding="utf-8")
    ...     list(site_files(Path(folder)))
    ['index.html']
    """
    found = sorted(file for file in site.rglob("*") if file.is_file() and file.suffix not in {".map", ".gz"})
    paths = {file.relative_to(site).as_posix(): file for file in found}
    return {name: digest(file.read_bytes())[:16] for name, file in paths.items() if name not in LEFT_OUT}


def worker_script(files: Mapping[str, str]) -> str:
    """The service worker for a build: the same files give the same worker, one file changed gives another version."""
    template = package_files("grader.pages").joinpath("assets", "worker.js").read_text(encoding="utf-8")
    listed = json.dumps(dict(sorted(files.items())), ensure_ascii=True, separators=(",", ":"))
    listed = listed.replace("\\", "\\\\").replace("'", "\\'")  # it stands between single quotes
    version = digest(canonical(dict(files)))[:16]
    return template.replace("__VERSION__", version).replace("__FILES__", listed)


def manifest(title: str, language: str) -> str:
    """
    What a phone shows of the installed course: its name, its sign, its colours.

    >>> json.loads(manifest("The carburetor", "en-GB"))["start_url"]
    'index.html'
    """
    sign = {"src": "assets/course/mark.svg", "sizes": "any", "type": "image/svg+xml", "purpose": "any"}
    return json.dumps(
        {
            "name": title,
            "short_name": title if len(title) <= 12 else title.split(":")[0][:12].strip(),
            "lang": language,
            "id": "index.html",
            "start_url": "index.html",
            "scope": "./",
            "display": "standalone",
            "background_color": "#fcfcfa",
            "theme_color": "#0e6172",
            "icons": [sign],
        },
        ensure_ascii=False,
        indent=1,
    )


def write_offline(site: Path, title: str, language: str, *, kept: bool) -> None:
    """Write manifest and worker into a built site; with `kept` false, a worker that keeps nothing and clears what was kept."""
    (site / MANIFEST).write_text(manifest(title, language), encoding="utf-8")
    (site / WORKER).write_text(worker_script(site_files(site)) if kept else GONE, encoding="utf-8")
