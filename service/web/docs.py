"""Pages for people: the documentation viewer, from files that are here, and a page for each kind of problem."""

from __future__ import annotations

from html import escape
from importlib.resources import files

from service.web.problems import Kind

VIEWER = "swagger_ui_bundle"
ASSETS = {
    "swagger-ui.css": "text/css",
    "swagger-ui-bundle.js": "text/javascript",
    "favicon-32x32.png": "image/png",
}
"""Files of the viewer that are served, and nothing else."""
START = b"""window.addEventListener("load", () => {
  SwaggerUIBundle({
    url: "openapi.json", dom_id: "#viewer", deepLinking: true, validatorUrl: null, defaultModelsExpandDepth: 0,
  });
});
"""
POLICY = "default-src 'self'; img-src 'self' data:; style-src 'self' 'unsafe-inline'; frame-ancestors 'none'"
"""Nothing from elsewhere; the viewer writes styles into the page."""


def viewer_page() -> bytes:
    """The documentation page."""
    return b"""<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Repair quotes for log and timber buildings</title>
<link rel="stylesheet" href="docs/swagger-ui.css">
<link rel="icon" href="docs/favicon-32x32.png">
<script src="docs/swagger-ui-bundle.js" defer></script>
<script src="docs/start.js" defer></script>
</head>
<body>
<noscript>The contract of this API is <a href="openapi.json">openapi.json</a>.</noscript>
<div id="viewer"></div>
</body>
</html>
"""


def asset(name: str) -> tuple[bytes, str] | None:
    """A file of the viewer and its media type; None where there is no such file."""
    if name == "start.js":
        return START, "text/javascript"
    if name not in ASSETS:
        return None
    vendor = files(VIEWER) / "vendor"
    folder = next(f for f in vendor.iterdir() if f.name.startswith("swagger-ui-"))
    return (folder / name).read_bytes(), ASSETS[name]


def problem_page(kind: Kind) -> bytes:
    """What a kind of problem means and what to do."""
    return f"""<!doctype html>
<html lang="en">
<head><meta charset="utf-8"><title>{escape(kind.title)}</title></head>
<body>
<h1>{escape(kind.title)}</h1>
<p>Status {kind.status}, <code>{escape(kind.slug)}</code></p>
<p>{escape(kind.means)}</p>
<p>{escape(kind.remedy)}</p>
</body>
</html>
""".encode()
