"""The scripts as served: the modules of a page in one file, in order, each once, their names apart."""

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from service.web.assets import FOLDER, assets
from service.web.modules import bundle
from service.web.static_pages import KEPT

NODE = shutil.which("node")
MODULES = {
    "store.js": "let now = 1;\nexport const twice = (x) => 2 * x;\nexport async function open() { return now; }\n",
    "sender.js": 'import { twice } from "./store.js";\nlet now = 5;\nexport function send() { return twice(now); }\n',
    "app.js": 'import { open, twice } from "./store.js";\nimport { send } from "./sender.js";\n'
              "open().then((one) => console.log(one, twice(3), send()));\n",
}  # fmt: skip


def written(folder: Path, **changes: str) -> Path:
    for name, text in (MODULES | {f"{name}.js": text for name, text in changes.items()}).items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder / "app.js"


def test_each_module_is_in_it_once_after_those_that_it_imports(tmp_path) -> None:
    made = bundle(written(tmp_path)).decode()

    assert re.findall(r'^modules\["([\w.]+)"\] = ', made, re.MULTILINE) == ["store.js", "sender.js", "app.js"]


@pytest.mark.skipif(NODE is None, reason="no node here; the browser tests run the scripts")
def test_it_does_what_the_modules_do(tmp_path) -> None:
    (tmp_path / "all.mjs").write_bytes(bundle(written(tmp_path)))
    ran = subprocess.run([str(NODE), str(tmp_path / "all.mjs")], capture_output=True, text=True, check=True, timeout=60)

    assert ran.stdout == "1 6 10\n"


@pytest.mark.parametrize(
    "line",
    ['import * as store from "./store.js";', "export default 3;", "export { send };", 'import "./store.js";',
     'import { send as sent } from "./sender.js";'],
)  # fmt: skip
def test_a_form_that_is_not_known_is_refused(tmp_path, line) -> None:
    with pytest.raises(ValueError, match="not known here"):
        bundle(written(tmp_path, app=f"{line}\n"))


def test_modules_that_import_each_other_are_refused(tmp_path) -> None:
    with pytest.raises(ValueError, match="by way of others"):
        bundle(written(tmp_path, store='import { send } from "./sender.js";\n'))


def test_what_the_worker_keeps_is_what_the_kept_pages_ask_for() -> None:
    """A page that was kept opens without a connection with its style, script and font, in the version of the worker."""
    folder = FOLDER.parent / "templates"
    texts = [(folder / f"{name}.html").read_text() for name in ("base", "day", "unit", "visit_form", "offline")]
    asked = {name for text in texts for name in re.findall(r"'([\w-]+\.(?:css|js|svg))'", text)}
    fonts = set(re.findall(r'url\("([^"]+)"\)', (FOLDER / "pages.css").read_text()))

    assert asked | fonts == set(KEPT)
    assert set(KEPT) <= assets().keys()


def test_every_class_of_the_pages_has_a_rule() -> None:
    """A class that neither the style nor a script knows is left over, or its rule is."""
    names = ("pages.css", "app.js", "visit.js", "photos.js")
    known = "".join((FOLDER / name).read_text(encoding="utf-8") for name in names)
    plain = (
        re.sub(r"{[{%].*?[%}]}", " ", path.read_text(encoding="utf-8"))
        for path in FOLDER.with_name("templates").glob("*.html")
    )
    used = {name for text in plain for each in re.findall(r'class="([^"]*)"', text) for name in each.split()}

    assert {name for name in used if not re.search(rf"\.{name}\b", known)} == set()
