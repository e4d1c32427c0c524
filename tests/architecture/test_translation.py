"""Translations: what is marked is translated, what people read is marked, and what was compiled is what is written."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.utils.translation import override

from custody.web.words import word
from tests.conftest import lacking
from tests.translated import PLACEHOLDER, ROOT, Visible, catalog, mofile, written

LANGUAGES = [code for code, _ in settings.LANGUAGES if code != settings.LANGUAGE_CODE]
UPDATE = "-i tests -i var -i fixtures_demo --no-obsolete --no-wrap --add-location file"
"""The options that `makemessages` is run with; they stand in DEVELOPERS.md."""
WORDS = re.compile(r"[^\W\d_]{2}")
MARKED = re.compile(
    r"{#.*?#}|{% blocktranslate.*?{% endblocktranslate %}|{% block main %}.*?{% endblock %}|{%.*?%}|{{.*?}}", re.DOTALL
)
"""What is no bare text in a template. The block `main` holds attributes."""
SAME_IN_ALL = re.compile(r"python manage\.py [\w-]+( FILE| FOLDER| --[\w-]+)*|PDF,?|CSV")
"""Text in templates that no language changes: commands to type, names of formats."""


def messages(path: Path) -> dict[tuple[str | None, Any], Any]:
    return {(each.context, each.id): each for each in catalog(path) if each.id}


def texts(message: Any) -> list[tuple[str, str]]:
    """Original and translation, form by form. Of one and of many: both stand beside the original of many."""
    if not message.pluralizable:
        return [(message.id, message.string)]
    return [(message.id[min(at, 1)], form) for at, form in enumerate(message.string)]


@pytest.fixture(scope="module")
def extracted(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the program in which all marked texts were looked for anew."""
    if shutil.which("xgettext") is None:
        lacking("browser", "there is no xgettext (Debian: gettext)")
    copy = tmp_path_factory.mktemp("copy")
    for name in ("custody", "api", "templates"):
        ignored = shutil.ignore_patterns("__pycache__", "static", "node_modules")
        shutil.copytree(ROOT / name, copy / name, ignore=ignored)
    shutil.copy(ROOT / "manage.py", copy)
    environment = {name: value for name, value in os.environ.items() if not name.startswith(("CUSTODY_", "DJANGO_"))}
    command = [sys.executable, "manage.py", "makemessages", *(f"-l{code}" for code in LANGUAGES), *UPDATE.split()]
    subprocess.run(command, cwd=copy, env=environment | {"CUSTODY_DATA": str(copy / "var")}, check=True)  # noqa: S603
    return copy


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_text_that_is_marked_is_absent_and_none_is_left_over(extracted: Path, language: str) -> None:
    """`makemessages` anew neither adds a text nor drops one; where it does, it is run, and what is new translated."""
    now = messages(extracted / written(language).relative_to(ROOT))
    there = messages(written(language))
    assert len(there) > 900
    assert now.keys() - there.keys() == set(), f"python manage.py makemessages -l {language} {UPDATE}"
    assert there.keys() - now.keys() == set()


@pytest.mark.parametrize("language", LANGUAGES)
def test_nothing_is_untranslated_or_doubtful(language: str) -> None:
    for message in messages(written(language)).values():
        assert not message.fuzzy, message.id
        assert [original for original, text in texts(message) if not text.strip()] == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_each_plural_has_the_forms_of_its_language(language: str) -> None:
    """Two in Spanish, as in English: the third that CLDR has for it, of millions, asks for "de" before a noun."""
    found = catalog(written(language))
    assert str(found.plural_forms).rstrip(";") == "nplurals=2; plural=(n != 1)"
    plurals = [each for each in found if each.id and each.pluralizable]
    assert len(plurals) >= 10
    assert [each.id for each in plurals if len(each.string) != 2] == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_placeholders_and_marks_are_those_of_the_original(language: str) -> None:
    for message in messages(written(language)).values():
        for original, text in texts(message):
            assert sorted(PLACEHOLDER.findall(original)) == sorted(PLACEHOLDER.findall(text)), text
            assert original[:1].isspace() == text[:1].isspace(), text
            assert original[-1:].isspace() == text[-1:].isspace(), text


@pytest.mark.parametrize("language", LANGUAGES)
def test_gettext_itself_finds_no_fault(language: str) -> None:
    """The reference implementation of the format, where the machine has it."""
    program = shutil.which("msgfmt")
    if program is None:
        lacking("browser", "there is no msgfmt (Debian: gettext)")
    command = [program, "--check-format", "--check-domain", "-o", os.devnull, str(written(language))]
    assert subprocess.run(command, capture_output=True, text=True, check=False).stderr == ""  # noqa: S603


def contents(compiled: Any) -> dict[Any, Any]:
    """A compiled catalog: texts by context and original."""
    return {(each.context, str(each.id)): list(each.string) for each in mofile.read_mo(compiled) if each.id}


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_the_program_reads_is_what_is_written(language: str) -> None:
    compiled = written(language).with_suffix(".mo")
    assert compiled.exists(), f"{sys.executable} -m pip install -e . brings it"
    with BytesIO() as fresh:
        mofile.write_mo(fresh, catalog(written(language)))
        fresh.seek(0)
        wanted = contents(fresh)
    with compiled.open("rb") as file:
        assert contents(file) == wanted


def test_nothing_compiled_is_in_the_repository() -> None:
    listed = subprocess.run(["git", "ls-files", "*.mo"], cwd=ROOT, capture_output=True, text=True, check=True)  # noqa: S607
    assert listed.stdout == ""


def test_how_to_update_stands_in_the_manual() -> None:
    assert f"python manage.py makemessages -l es {UPDATE}" in (ROOT / "DEVELOPERS.md").read_text()


@pytest.mark.parametrize("path", sorted((ROOT / "templates").rglob("*.html")), ids=lambda path: path.name)
def test_every_visible_text_of_a_template_is_marked(path: Path) -> None:
    """Crude: tags of templates are taken out, and no letters may be left where people read."""
    page = Visible()
    page.feed(MARKED.sub(" ", path.read_text(encoding="utf-8")))
    assert [text for text in page.found if WORDS.search(text) and not SAME_IN_ALL.fullmatch(text)] == []


def test_the_check_of_templates_finds_what_is_not_marked() -> None:
    page = Visible()
    page.feed(
        MARKED.sub(" ", '<p title="Bare">{% translate "Marked" %} bare <b>{{ name }}</b></p><script>x = "no"</script>')
    )
    assert page.found == ["Bare", "bare"]


def test_gettext_goes_by_names_that_are_looked_for() -> None:
    """`xgettext` knows `_` and the names of Django; a text that is marked by another is never found."""
    alias = re.compile(r"import .*\b\w*gettext\w* as (\w+)")
    sources = [path for name in ("custody", "api") for path in (ROOT / name).rglob("*.py")]
    found = {(path.name, name) for path in sources for name in alias.findall(path.read_text(encoding="utf-8"))}
    assert found != set()
    assert {each for each in found if each[1] != "_"} == set()


def test_a_word_of_the_record_is_said_in_the_language_in_force() -> None:
    with override("es"):
        assert str(word("poll_chief")) == "responsable del lugar"
    with override("en"):
        assert str(word("poll_chief")) == "poll chief"
