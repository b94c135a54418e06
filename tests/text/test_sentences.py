"""The templates of sentences: each is used, filled by exactly its names, and says the same in a browser."""

import ast
import json
import re
import subprocess
from html.parser import HTMLParser
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import rhythmlab
from rhythmlab.panels.stage import join
from rhythmlab.text import numbers, sentences
from rhythmlab.text.sentences import for_page, form, say, templates, verb

PACKAGE = Path(rhythmlab.__file__).parent
TREES = {path: ast.parse(path.read_text(encoding="utf-8")) for path in sorted(PACKAGE.rglob("*.py"))}
READER = Path(join.__file__).parent / "sentences.mjs"
#: Groups whose keys are numbers or counted words: `words` finds the template by what it counts.
BY_VALUE = ("counted", "times", "small")
PLACEHOLDER = re.compile(r"\{([a-z_]+)\}")

#: Text of every sort, and whole numbers that both languages write alike.
VALUES = st.one_of(
    st.text(st.characters(exclude_categories=["Cs"]), max_size=30),
    st.sampled_from(["{ticks}", "$&", "$1", "$$", "</script>", "\u2028", "\N{NO-BREAK SPACE}", "{}", "\\"]),
    st.integers(-(2**53) + 1, 2**53 - 1),
)


def names_of(template: str) -> set[str]:
    return set(PLACEHOLDER.findall(template))


def calls(name: str):
    """Yield every call of a function in the package, with its file."""
    for path, tree in TREES.items():
        for node in ast.walk(tree):
            if isinstance(node, ast.Call):
                called = node.func
                if getattr(called, "id", getattr(called, "attr", None)) == name:
                    yield path, node


def keys_of(path: Path, scope: ast.AST, node: ast.expr) -> list[str]:
    """Return the keys that an argument can be: a text, one of two, or a name that is given only such."""
    if isinstance(node, ast.Constant):
        return [node.value]
    if isinstance(node, ast.IfExp):
        return [*keys_of(path, scope, node.body), *keys_of(path, scope, node.orelse)]
    if isinstance(node, ast.Name):
        given = [
            one.value
            for one in ast.walk(scope)
            if isinstance(one, ast.Assign) and [getattr(t, "id", "") for t in one.targets] == [node.id]
        ]
        return [key for value in given for key in keys_of(path, scope, value)]
    return []


def said():
    """Return each use of a template: where, its key, and the names that are filled."""
    found = []
    for path, tree in TREES.items():
        if not any(
            isinstance(node, ast.ImportFrom)
            and node.module == "rhythmlab.text.sentences"
            and "say" in [name.name for name in node.names]
            for node in tree.body
        ):
            continue  # what it calls `say` is another
        for scope in ast.walk(tree):
            if not isinstance(scope, ast.FunctionDef):
                continue
            for node in ast.walk(scope):
                if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "say":
                    where = f"{path.name}:{node.lineno}"
                    (key,) = node.args
                    keys = keys_of(path, scope, key)
                    by_value = isinstance(key, ast.JoinedStr) and key.values[0].value.rstrip(".") in BY_VALUE
                    assert keys or by_value, (
                        f"{where}: the key of a sentence is written out, not put together"
                    )
                    found += [(where, one, {word.arg for word in node.keywords}) for one in keys]
    return found


@pytest.fixture(scope="module")
def browser_says(node):
    """Fill templates in Node."""

    def fill(known: dict, asked: list) -> list:
        script = (
            f"const {{ sayOf, formOf }} = await import({json.dumps(READER.as_uri())});"
            "const text = await new Response(process.stdin).text();"
            "const { known, asked } = JSON.parse(text);"
            "const out = asked.map(([key, values, count]) => [sayOf(known, key, values), formOf(count)]);"
            "console.log(JSON.stringify(out));"
        )
        done = subprocess.run(
            [node, "--input-type=module", "-e", script],
            input=json.dumps({"known": known, "asked": asked}),
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        return json.loads(done.stdout)

    return fill


def test_every_template_is_used_and_every_use_has_one():
    """No sentence in the file that nothing says, none said that is not in the file."""
    used = {key for _, key, _ in said()}
    kept = {key for key in templates() if key.split(".")[0] not in BY_VALUE or key == "times.more"}
    assert {key for key in used if key not in templates()} == set()
    assert {key for key in kept if key not in used} == set()


def test_every_use_fills_exactly_the_names_of_its_template():
    """Whoever says a sentence gives a value for each of its names and for nothing else."""
    for where, key, given_names in said():
        assert given_names == names_of(templates()[key]), f"{where} says {key}"


def test_what_is_found_by_value_is_complete():
    """Once and twice, numbers to nine, and for a counted word both forms and somebody who counts it."""
    keys = set(templates())
    assert {key for key in keys if key.startswith("times.")} == {
        *("times.1", "times.2", "times.more"),
    }
    assert {key for key in keys if key.startswith("small.")} == {f"small.{n}" for n in range(10)}
    counted = {key.split(".")[1] for key in keys if key.startswith("counted.")}
    literals = {
        node.args[1].value
        for _, node in calls("plural")
        if len(node.args) > 1 and isinstance(node.args[1], ast.Constant)
    }
    for word in counted - {"second"}:
        assert word in literals, f"nothing counts a {word}"
    for word in counted:
        one, other = (templates()[f"counted.{word}.{which}"] for which in ("one", "other"))
        assert names_of(one) == names_of(other) == {"count"}
        assert numbers.plural(1, word) == one.format(count=1)
        assert numbers.plural(2, word) == other.format(count=2)


def test_forms_go_in_pairs():
    """Where there is a form for one there is one for others, with the same names."""
    for key, template in templates().items():
        if key.endswith(".one"):
            assert names_of(templates()[f"{key[:-4]}.other"]) == names_of(template)
        if key.endswith(".other"):
            assert f"{key[:-6]}.one" in templates()


@pytest.mark.parametrize("key", templates())
def test_templates_are_plain_text(key):
    """Words and names in braces: no markup, no entity, no other brace, no doubled or outer space."""
    template = templates()[key]
    assert re.fullmatch(r"[a-z0-9_]+(\.[a-z0-9_]+)+", key)
    assert template
    assert not re.search(r"[<>`*\\\n\t]|&\w+;|&#|  |^ | $", template)
    assert not set(PLACEHOLDER.sub("", template)) & set("{}")


@pytest.mark.parametrize(
    "values", [{}, {"first": 7}, {"first": 7, "second": 4, "third": 5}, {"a": 1, "b": 2}]
)
def test_values_that_do_not_fit_are_refused(values):
    """A name left out, one too many, or another one is an error, never a sentence with a hole."""
    with pytest.raises(TypeError, match=r"name\.pair"):
        say("name.pair", **values)
    with pytest.raises(KeyError):
        say("name.nobody", **values)


@settings(max_examples=12, deadline=None)
@given(st.data())
def test_python_and_the_browser_say_the_same(browser_says, data):
    """Any template with any values, braces and dollars among them: the same text, and the same form."""
    asked = data.draw(
        st.lists(
            st.sampled_from(sorted(templates())).flatmap(
                lambda key: st.tuples(
                    st.just(key),
                    st.fixed_dictionaries(dict.fromkeys(sorted(names_of(templates()[key])), VALUES)),
                    st.integers(-3, 9),
                )
            ),
            min_size=20,
            max_size=120,
        )
    )
    known = json.loads(for_page())
    expected = [[say(key, **values), form(count)] for key, values, count in asked]
    assert browser_says(known, asked) == expected


class _Scripts(HTMLParser):
    """The text of the script elements of a page, and the tags that it has."""

    def __init__(self) -> None:
        super().__init__()
        self.tags, self.text = [], ""

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)

    def handle_data(self, data):
        self.text += data


@given(st.dictionaries(st.text(min_size=1, max_size=5), VALUES.map(str), max_size=5))
@settings(max_examples=50, deadline=None)
def test_a_page_can_hold_the_templates(texts):
    """Inside a script element nothing of them ends it or begins a comment, and JSON gives them back."""
    hostile = {**texts, "end": "</script><script>", "comment": "<!-- <script>", "line": "\u2028&amp;]]>"}
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sentences, "templates", lambda: hostile)
        text = for_page()
    assert not re.search(r"[<>&\u2028\u2029]", text)
    page = _Scripts()
    page.feed(f'<script type="application/json">{text}</script>')
    page.close()
    assert page.tags == ["script"]
    assert json.loads(page.text) == hostile


@pytest.mark.parametrize(
    "name", ["hands", "feet", "snare", "left foot", "toms", "the 7", "hi-hat", "", "brass"]
)
def test_a_name_has_the_verb_of_its_number(name):
    """The hands fall and the left foot falls; no template puts a verb of one beside a name."""
    many = name in ("hands", "feet", "toms")
    assert verb(name, "falls", "fall") == ("fall" if many else "falls")


def test_no_template_speaks_of_a_name_in_the_singular():
    """Who played may be the hands: what is said of them has a verb that goes with one and with many."""
    wrong = re.compile(
        r"\{who\},? (?:is|was|has|were|are)\b|\bso it is (?:late|early)\b|\bits (?:interval|other)\b"
    )
    assert [key for key, text in templates().items() if wrong.search(text)] == []
