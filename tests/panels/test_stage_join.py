"""Modules joined into one text: what is refused, and that the real ones run."""

import json
import re
import subprocess
from pathlib import Path

import pytest

from rhythmlab.panels.stage import join as joining
from rhythmlab.panels.stage.join import join

STAGE = Path(joining.__file__).parent
MODULES = sorted(STAGE.glob("*.mjs"))


def write(folder: Path, **modules: str) -> Path:
    """Write modules, and return the path of the first."""
    for name, text in modules.items():
        (folder / f"{name}.mjs").write_text(text, encoding="utf-8")
    return folder / f"{next(iter(modules))}.mjs"


def run(node: str, path: Path) -> dict:
    """Return what a module exports, as node loads it."""
    script = (
        f"const m = await import({json.dumps(path.as_uri())});"
        "console.log(JSON.stringify(Object.fromEntries(Object.entries(m))))"
    )
    done = subprocess.run(
        [node, "--input-type=module", "-e", script], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_modules_come_after_what_they_import_and_once(tmp_path, node):
    """In import order, one copy of what two others need; the joined text does the same as they do."""
    entry = write(
        tmp_path,
        a='import { two } from "./b.mjs";\nimport { one, less } from "./c.mjs";\n'
        "export default { sum: one + two - less };\n",
        b='import { one } from "./c.mjs";\nexport const two = one + 1;\n',
        c="export const one = 1;\nexport function hidden() {}\nexport const less = 0;\n",
    )
    text = join(entry)
    assert [text.count(f"const {name}=") for name in ("one", "two", "less")] == [1, 1, 1]
    assert text.index("const one") < text.index("const two") < text.index("sum:")
    assert "import" not in text
    assert re.findall(r"export .*?;", text) == ["export default{sum:one+two-less};"]
    joined = write(tmp_path, joined=text)
    assert run(node, joined) == run(node, entry) == {"default": {"sum": 3}}


def test_what_the_entry_exports_stays_exported(tmp_path, node):
    """Named exports of the module asked for are kept; those of its neighbours are names and no more."""
    entry = write(
        tmp_path,
        a='import { inner } from "./b.mjs";\nexport const outer = inner * 2;\nexport default inner;\n',
        b="export const inner = 21;\n",
    )
    assert run(node, write(tmp_path, joined=join(entry))) == {"outer": 42, "default": 21}


@pytest.mark.parametrize(
    "line",
    [
        'import b from "./b.mjs";',
        'import * as b from "./b.mjs";',
        'import "./b.mjs";',
        "import { b } from './b.mjs';",
        'import { b } from "./b.mjs"',
        'import { b } from "../b.mjs";',
        'import { b } from "./b.js";',
        'import { b } from "b";',
        'import {b} from "./b.mjs";',
        "import {",
        'import b, { c } from "./b.mjs";',
    ],
)
def test_an_import_of_any_other_form_is_refused(tmp_path, line):
    """The message names file, line and text, and shows the one form there is."""
    entry = write(tmp_path, a=f"// first\n{line}\n", b="export const b = 1;\n")
    with pytest.raises(ValueError, match=r"^a\.mjs:2: ") as caught:
        join(entry)
    assert repr(line) in str(caught.value)
    assert 'import { a, b } from "./c.mjs"; and export function a' in str(caught.value)


@pytest.mark.parametrize(
    "line", ["export { b };", 'export * from "./c.mjs";', "export default 1;", "export { b as c };"]
)
def test_a_neighbour_exports_only_what_it_declares(tmp_path, line):
    """Anything but export in front of a declaration is refused in a module that is imported."""
    entry = write(tmp_path, a='import { b } from "./b.mjs";\n', b=f"export const b = 1;\n{line}\n")
    with pytest.raises(ValueError, match=r"^b\.mjs:2: .* cannot be joined"):
        join(entry)


def test_the_last_semicolon_of_a_block_is_left_out_and_nothing_of_a_text(tmp_path, node):
    """What runs is the same; a text in which that would change something is refused."""
    block = "export function b() {\n  const one = '; }';\n  return one;\n}\n"
    told = 'import { b } from "./b.mjs";\nexport const told = b();\n'
    text = join(write(tmp_path, a=told, b=block))
    assert "return one}" in text
    assert run(node, write(tmp_path, joined=text)) == {"told": "; }"}
    with pytest.raises(ValueError, match=r"^b\.mjs:2: ;\} would lose its semicolon"):
        join(write(tmp_path, a=told, b=block.replace("; }", ";}")))


@pytest.mark.parametrize("names", ["missing", "b, missing", "b as missing", "hidden"])
def test_what_is_not_exported_cannot_be_imported(tmp_path, names):
    """A name that is not there, not exported or renamed on the way."""
    entry = write(
        tmp_path, a=f'import {{ {names} }} from "./b.mjs";\n', b="export const b = 1;\nconst hidden = 2;\n"
    )
    with pytest.raises(ValueError, match=r"^a\.mjs:1: b\.mjs does not export (missing|basmissing|hidden)$"):
        join(entry)


@pytest.mark.parametrize("first", ["const", "let", "var"])
@pytest.mark.parametrize(
    "second",
    [
        "function name() {}",
        "class name {}",
        "export const name = 1;",
        "async function name() {}",
        "function* name() {}",
    ],
)
def test_two_modules_may_not_use_one_name(tmp_path, first, second):
    """Joined they would be one scope; the message names both modules."""
    entry = write(
        tmp_path,
        a=f'import {{ b }} from "./b.mjs";\n{first} name = 1;\n',
        b=f"export const b = 1;\n{second}\n",
    )
    with pytest.raises(ValueError, match=r"^a\.mjs:2: name is also declared in b\.mjs$"):
        join(entry)


def test_one_module_may_not_declare_a_name_twice_either(tmp_path):
    """The same check finds it."""
    with pytest.raises(ValueError, match=r"^a\.mjs:2: x is also declared in a\.mjs$"):
        join(write(tmp_path, a="const x = 1;\nconst x = 2;\n"))


def test_names_inside_functions_are_free(tmp_path):
    """Only what stands at the left edge is shared."""
    entry = write(
        tmp_path,
        a='import { b } from "./b.mjs";\nfunction a() {\n  const x = 1;\n  return x + b();\n}\n',
        b="export function b() {\n  const x = 2;\n  return x;\n}\n",
    )
    assert join(entry).count("const x") == 2


def test_a_circle_is_refused_with_the_way_round(tmp_path):
    """The message walks the circle and says what to do."""
    entry = write(
        tmp_path,
        a='import { b } from "./b.mjs";\n',
        b='import { c } from "./c.mjs";\nexport const b = 1;\n',
        c='import { b } from "./b.mjs";\nexport const c = 1;\n',
    )
    with pytest.raises(ValueError, match="import each other in a circle") as caught:
        join(entry)
    assert str(caught.value).startswith("a.mjs -> b.mjs -> c.mjs -> b.mjs ")


def test_a_module_that_is_not_there_is_named(tmp_path):
    """The file's name is in the error."""
    with pytest.raises(FileNotFoundError, match=r"gone\.mjs"):
        join(write(tmp_path, a='import { b } from "./gone.mjs";\n'))


def test_the_real_modules_join_to_something_that_node_accepts(tmp_path, node):
    """The text that the widget loads parses as a module and exports one function, the maker of a stage."""
    joined = write(tmp_path, stage=join(STAGE / "stage.mjs"))
    done = subprocess.run([node, "--check", str(joined)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    script = (
        f"const m = await import({json.dumps(joined.as_uri())});"
        "console.log(JSON.stringify([Object.keys(m), typeof m.default, Object.keys(m.default())]))"
    )
    done = subprocess.run(
        [node, "--input-type=module", "-e", script], capture_output=True, text=True, check=False
    )
    assert json.loads(done.stdout) == [["default"], "function", ["initialize", "render"]], done.stderr


def test_comments_and_space_are_left_out(tmp_path):
    """A string or a template keeps what looks like a comment, and every space of its own."""
    head = "// what\n\n/** One. */\n"
    text = head + 'export const a = () => {\n  /**\n   * Two.\n   */\n  return "/* b */  // c"; // d\n};\n'
    text += "export const b = (n) => `a  ${n + 1} // ${n}`;\n"
    joined = join(write(tmp_path, one=text))
    assert joined == 'export const a=()=>{return"/* b */  // c"};export const b=(n)=>`a  ${n + 1} // ${n}`;'


@pytest.mark.parametrize("path", MODULES, ids=[path.name for path in MODULES])
def test_no_template_stands_in_a_template(path):
    """What makes the script small takes an inner one for code, and its spaces with it."""
    module = path.read_text(encoding="utf-8")
    assert not re.search(r"`[^`]*\$\{[^{}`]*`", module)


def test_the_script_of_the_stage_is_no_more_than_180_kilobytes():
    """A page carries it with every panel."""
    assert len(join(STAGE / "stage.mjs").encode()) <= 180_000


def test_every_module_is_joined_small_and_documented():
    """No module lies about unused; each has a line on what it is, and stays under 200 lines."""
    text = "".join(
        join(STAGE / entry)
        for entry in ("stage.mjs", "keeper.mjs", "progress.mjs", "form.mjs", "sentences.mjs")
    )
    for path in MODULES:
        module = path.read_text(encoding="utf-8")
        assert module.startswith("// ")
        declared = re.findall(r"^export ((?:async )?(?:function|const|class) \w+)", module, re.MULTILINE)
        entry = path.name in {"stage.mjs", "keeper.mjs", "progress.mjs", "form.mjs"}
        assert entry or any(one in text for one in declared), f"{path.name} is imported by no other module"
        assert len(module.splitlines()) < 200
    assert "innerHTML" in text


@pytest.mark.parametrize("path", MODULES, ids=[path.name for path in MODULES])
def test_nothing_is_fetched_from_elsewhere(path):
    """The panels work without a network: no address stands in a module."""
    module = path.read_text(encoding="utf-8")
    assert not re.search(r"https?:|//[a-z]+\.|\bfetch\(|\bimport\(|eval\(", module)
