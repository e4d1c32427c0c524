"""The service worker that lets the pages under `/at-work/` start without a network, and the list of files that it keeps."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse
from django.templatetags.static import static
from django.urls import reverse
from django.utils.translation import get_language
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_safe

from custody.web import work

SCRIPTS = "custody/js"
SOURCE = f"{SCRIPTS}/worker.js"
NOT_AT_WORK = {
    SOURCE,
    *(f"{SCRIPTS}/pages/{name}.js" for name in ("enrol", "fields", "night", "sign_in", "sign_out")),
}


@require_safe
@cache_control(no_cache=True)
def worker(request: HttpRequest) -> HttpResponse:
    """The script. It is another one whenever a file of the list is: then a browser takes it for a newer version.

    So it is in another language, which it asks all frames for: those that it keeps never come in two.
    """
    language = get_language() or settings.LANGUAGE_CODE
    known = {
        "VERSION": version(settings.CUSTODY_REHEARSAL, language, *work.list_hosts()),
        "LANGUAGE": language,
        "FILES": sorted(list_files()),
    }
    before = "".join(f"const {name} = {json.dumps(value, indent=0)};\n" for name, value in known.items())
    text = before + _read(SOURCE).decode()
    return HttpResponse(text, content_type="text/javascript; charset=utf-8")


def list_files() -> Iterator[str]:
    """Addresses of all that the pages need: the frames, their words and looks, every module, the decoder."""
    yield from work.list_frames()
    yield reverse("work-words")
    for path in _paths():
        yield static(path)


@cache
def version(*set_here: str) -> str:
    """A hash of everything on the list as this program has it: files, code and words that the frames are made of, settings."""
    program = Path(work.__file__).resolve().parents[1]
    sources = [*program.rglob("*.py"), *program.rglob("*.mo"), *work.list_templates()]
    files = [_read(path) for path in (SOURCE, *_paths())] + [path.read_bytes() for path in sorted(sources)]
    parts = ["\n".join(set_here).encode(), *files]
    return hashlib.sha256(b"".join(hashlib.sha256(part).digest() for part in parts)).hexdigest()[:16]


@cache
def _paths() -> tuple[str, ...]:
    found = finders.find(SCRIPTS)
    assert isinstance(found, str)
    modules = {f"{SCRIPTS}/{path.relative_to(found).as_posix()}" for path in Path(found).rglob("*.js")}
    looks = {"custody/style.css", "custody/work.css", "custody/mark.svg"}
    return tuple(sorted((modules - NOT_AT_WORK) | looks | set(work.FILES.values()) | {"vendor/zxing/share.js"}))


def _read(path: str) -> bytes:
    found = finders.find(path)
    assert isinstance(found, str), path
    return Path(found).read_bytes()
