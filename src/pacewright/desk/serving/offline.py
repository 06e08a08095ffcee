"""The worker that opens pages of the desk again while it is down, on the machine itself.

A browser lets such a worker in only at addresses that it holds for secure, and the machine's own is one. Over
a network the desk is not encrypted: pages that are open there go on, and are not loaded again without a desk.
"""

from __future__ import annotations

import hashlib
import json
from functools import cache
from pathlib import Path
from typing import Final

from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse
from django.templatetags.static import static
from django.views.decorators.http import require_GET

_HERE: Final = Path(__file__).parents[1] / "static" / "desk"
_OTHERS: Final = ("django_htmx/htmx-2.min.js",)


@require_GET
def worker(request: HttpRequest) -> HttpResponse:
    """The worker's script: it tells nothing of anybody."""
    return HttpResponse(_script(), content_type="text/javascript; charset=utf-8")


@cache
def _script() -> str:
    names = [f"desk/{path.name}" for path in sorted(_HERE.iterdir()) if path.name != "worker.js"]
    names += _OTHERS
    text = (_HERE / "worker.js").read_text(encoding="utf-8")
    digest = hashlib.sha256(text.encode("utf-8"))
    for name in names:
        found = finders.find(name)
        assert isinstance(found, str), name
        digest.update(Path(found).read_bytes())
    statics = json.dumps([static(name) for name in names])
    return f"const STATICS = {statics};\nconst VERSION = {json.dumps(digest.hexdigest()[:16])};\n{text}"
