"""Text is made last: no module of the package cuts, searches or patterns what another one says."""

import ast
import textwrap
from collections.abc import Iterator
from pathlib import Path

import pytest

import rhythmlab

PACKAGE = Path(rhythmlab.__file__).parent
#: Methods that read a text, and functions of `re` that do.
CUTS = {
    *("split", "rsplit", "replace", "removeprefix", "removesuffix", "startswith", "endswith"),
    *("partition", "rpartition", "find", "rfind", "splitlines"),
}
PATTERNS = {"match", "search", "fullmatch", "sub", "findall", "finditer", "split"}
#: Names of what is said, wherever it is made; and every function of `text`, or whose name ends in `_text`.
SAID = {
    *(
        "said",
        "describe",
        "reasons",
        "why",
        "would_change",
        "short",
        "verdict",
        "label",
        "alt",
        "citation",
        "named",
    ),
    *("because", "body", "lead", "doing", "remarks", "facts", "say"),
}
#: The modules of `text`.
TEXTS = {"numbers", "counts", "descriptions", "sentences"}
#: Texts that nobody says: what a file holds, a number, a path.
AS_IT_IS = {"read_text", "write_text", "bpm_text", "path_text", "_text", "_plain_text"}
#: Functions that read other things than English: bytes of a journal, signs that XML cannot hold.
OTHERS = {"practice/journal.py": {"brief"}, "draw/figure.py": {"painted"}}


def says(node: ast.AST, bound: set[str]) -> bool:
    """Whether an expression holds something said, by its name or as a name bound to such."""
    for one in ast.walk(node):
        if isinstance(one, ast.Attribute) and (
            one.attr in SAID or (one.attr.endswith("_text") and one.attr not in AS_IT_IS)
        ):
            return True
        if isinstance(one, ast.Name) and (
            one.id in bound or (one.id.endswith("_text") and one.id not in AS_IT_IS) or one.id == "say"
        ):
            return True
        if isinstance(one, ast.Attribute) and isinstance(one.value, ast.Name) and one.value.id in TEXTS:
            return True
    return False


def bound_to(scope: ast.AST) -> set[str]:
    """Return the names that a function gives to what is said."""
    bound: set[str] = set()
    for _ in range(3):
        for node in ast.walk(scope):
            value, targets = None, []
            if isinstance(node, ast.Assign):
                value, targets = node.value, node.targets
            elif isinstance(node, ast.comprehension | ast.For):
                value, targets = node.iter, [node.target]
            if value is not None and says(value, bound):
                bound |= {
                    one.id for target in targets for one in ast.walk(target) if isinstance(one, ast.Name)
                }
    return bound


def readings(tree: ast.AST) -> Iterator[tuple[str, str]]:
    """Yield where what is said is read: the function, and the expression."""
    for scope in ast.walk(tree):
        if not isinstance(scope, ast.FunctionDef):
            continue
        bound = bound_to(scope)
        for node in ast.walk(scope):
            read: list[ast.AST] = []
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
                if getattr(node.func.value, "id", "") == "re" or node.func.attr in PATTERNS - CUTS:
                    read = [*node.args]
                elif node.func.attr in CUTS:
                    read = [node.func.value]
            elif isinstance(node, ast.Compare) and isinstance(node.ops[0], ast.In | ast.NotIn):
                left = node.left
                if isinstance(left, ast.JoinedStr) or (
                    isinstance(left, ast.Constant) and str(left.value) == left.value
                ):
                    read = [*node.comparators]
            if any(says(one, bound) for one in read):
                yield scope.name, ast.unparse(node)


@pytest.mark.parametrize(
    "path", sorted(PACKAGE.rglob("*.py")), ids=lambda path: path.relative_to(PACKAGE).as_posix()
)
def test_no_module_reads_what_another_says(path):
    """Reasons, places and sources are taken as values; a sentence is for a reader only."""
    name = path.relative_to(PACKAGE).as_posix()
    found = [
        (where, text)
        for where, text in readings(ast.parse(path.read_text(encoding="utf-8")))
        if where not in OTHERS.get(name, ())
    ]
    assert not found


@pytest.mark.parametrize(
    "body",
    [
        'return way.verdict(home).replace("bpm", of)',
        'return next(reason for reason in best.reasons if reason.endswith("."))',
        'text = lost_text(cycle)\nreturn re.sub("ticks", "beats", text)',
        'return counts.count(feel).removeprefix("Counted from ")',
        'said = " ".join(found.reasons)\nreturn "common practice" in said.lower()',
        'claps = descriptions.clapped(p)\nreturn claps.split(", ")',
        'return re.match("[0-9]+", self.citation)',
        'text = say("facts.heard", ticks=2)\nreturn text.partition(":")[2]',
    ],
)
def test_what_reads_a_sentence_is_found(body):
    """Each of these was written once, or could be."""
    assert list(readings(ast.parse(f"def reads():\n{textwrap.indent(body, '    ')}")))
