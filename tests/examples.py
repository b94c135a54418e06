"""Every example that a message of the package can show, found in its source, and whether it can be typed."""

import ast
import builtins
import copy
import importlib
import inspect
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from rhythmlab import resources
from tests.public import PUBLIC as NAMES
from tests.public import ROOMS, by_name

PACKAGE = Path(resources.__file__).parent
#: Stands in an example where the source puts in something that is only known when the message is made.
GAP = "_gap_"
#: The same for a value of the package, shown as it is typed.
SHOWN = f"{GAP}shown_"
#: Names of parameters and variables that hold an example, whole or its beginning.
HOLDERS = {"example", "call", "works"}
PUBLIC = {*ROOMS[""].__all__, "rl", "rhythmlab"}
#: Where a message is about a field or a line and not about a call: there an example is what is typed into it.
FIELDS = (
    *("panels/", "practice/set_list.py", "__main__.py", "working_folder.py"),
    *("classroom/cli.py", "classroom/assignment.py"),
    *(f"classroom/bank/{what}.py" for what in ("rhythm", "playing", "notation", "hearing", "takes", "pages")),
)


@dataclass(frozen=True)
class Example:
    """An example, and where its text begins in the source."""

    text: str
    module: str
    line: int

    def __str__(self) -> str:
        return f"{self.module}:{self.line}: {self.text}"


class _Reader(ast.NodeVisitor):
    """Collect the examples of one module."""

    def __init__(self, path: Path) -> None:
        self.name = path.relative_to(PACKAGE).as_posix()
        dotted = ".".join(("rhythmlab", *path.relative_to(PACKAGE).with_suffix("").parts))
        self.module = importlib.import_module(dotted)
        self.found: list[Example] = []
        self.locals: list[dict[str, ast.expr]] = [{}]
        self.inside: set[int] = set()
        tree = ast.parse(path.read_text(encoding="utf-8"))
        self.docs = {
            id(node.body[0].value)
            for node in ast.walk(tree)
            if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
            and ast.get_docstring(node) is not None
        }
        self.visit(tree)

    # --- what is known of a text -----------------------------------------------------------------------

    def text(self, node: ast.expr, depth: int = 0) -> str:
        """Return a string expression as text, with gaps for what is not known."""
        if isinstance(node, ast.Constant):
            return node.value if isinstance(node.value, str) else repr(node.value)
        if isinstance(node, ast.JoinedStr):
            return "".join(self.text(part, depth) for part in node.values)
        if isinstance(node, ast.FormattedValue):
            inner = self.text(node.value, depth)
            if node.conversion == ord("r") or (isinstance(node.value, ast.Name) and node.value.id == "self"):
                return SHOWN if inner == GAP else repr(inner)
            return inner
        if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
            return self.text(node.left, depth) + self.text(node.right, depth)
        if isinstance(node, ast.IfExp):
            return self.text(node.body, depth)
        if isinstance(node, ast.Name) and depth < 5:
            for scope in reversed(self.locals):
                if node.id in scope:
                    return self.text(scope[node.id], depth + 1)
        try:
            known = ast.fix_missing_locations(ast.Expression(self.filled(node, depth)))
            value = eval(compile(known, "example", "eval"), vars(self.module))
        except Exception:
            return GAP
        return value if isinstance(value, str) else repr(value) if isinstance(value, int | tuple) else GAP

    def filled(self, node: ast.expr, depth: int) -> ast.expr:
        """Return a copy of an expression with the texts of local names in their places."""
        reader = self

        class Filling(ast.NodeTransformer):
            def visit_Name(self, name: ast.Name) -> ast.expr:
                if not any(name.id in scope for scope in reader.locals) or depth > 4:
                    return name
                text = reader.text(name, depth + 1)
                return name if GAP in text else ast.Constant(text)

        return Filling().visit(copy.deepcopy(node))

    # --- where examples are ----------------------------------------------------------------------------

    def add(self, node: ast.expr, text: str) -> None:
        self.found.append(Example(text.rpartition("for example ")[2], self.name, node.lineno))

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        self.locals.append({})
        for inner in ast.walk(node):
            if (
                isinstance(inner, ast.Assign)
                and len(inner.targets) == 1
                and isinstance(inner.targets[0], ast.Name)
            ):
                self.locals[-1].setdefault(inner.targets[0].id, inner.value)
        for argument in (*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs):
            self.locals[-1].pop(argument.arg, None)
        self.generic_visit(node)
        self.locals.pop()

    def visit_Assign(self, node: ast.Assign) -> None:
        names = [target.id for target in node.targets if isinstance(target, ast.Name)]
        if any(name.lower().lstrip("_") in HOLDERS for name in names):
            self.add(node.value, self.text(node.value))
        self.generic_visit(node)

    def visit_Call(self, node: ast.Call) -> None:
        try:
            called = eval(compile(ast.Expression(node.func), "call", "eval"), vars(self.module))
            names = [
                name
                for name, one in inspect.signature(called).parameters.items()
                if one.kind in (one.POSITIONAL_ONLY, one.POSITIONAL_OR_KEYWORD)
            ]
        except Exception:
            names = []
        given = [*zip(names, node.args, strict=False), *((word.arg, word.value) for word in node.keywords)]
        for name, value in given:
            if name in HOLDERS and not isinstance(value, ast.Starred):
                self.add(value, self.text(value))
        self.generic_visit(node)

    def visit_Constant(self, node: ast.Constant) -> None:
        if isinstance(node.value, str) and id(node) not in self.docs and id(node) not in self.inside:
            self.describe(node, node.value)

    def visit_JoinedStr(self, node: ast.JoinedStr) -> None:
        self.inside |= {id(inner) for inner in ast.walk(node)}
        self.describe(node, self.text(node))
        for part in node.values:
            if isinstance(part, ast.FormattedValue):
                self.visit(part.value)

    def describe(self, node: ast.expr, text: str) -> None:
        for found in re.finditer(r"for example:? ", text):
            self.add(node, text[found.end() :])


@cache
def all_examples() -> list[Example]:
    """Return every example in the source of the package."""
    return [one for path in sorted(PACKAGE.rglob("*.py")) for one in _Reader(path).found]


# --- whether it can be typed ---------------------------------------------------------------------------


def fault(example: Example) -> str:
    """Return why a reader cannot type an example; empty where it can be typed."""
    text = example.text.removeprefix("for example ").strip()
    if not text.replace(GAP, "").strip(" .") or text.startswith("python -m rhythmlab "):
        return ""
    code = code_of(text)
    if code is None or (example.module.startswith(FIELDS) and not re.search(r"[A-Za-z_]\(", text)):
        return "" if example.module.startswith(FIELDS) else "is neither a call nor a part of one"
    tree = ast.parse(code, mode="eval").body
    keywords = tree.keywords if code.startswith("dict(") else []
    strange = [one.arg for one in keywords if one.arg not in PARAMETERS and GAP not in one.arg]
    if strange:
        return f"no public call takes {strange[0]}="
    for node in ast.walk(tree):
        if isinstance(node, ast.Name) and not (node.id in PUBLIC | PLAIN or GAP in node.id):
            return f"{node.id} is not a public name"
        if isinstance(node, ast.Attribute) and not (_in_a_room(node) or _on_a_public_call(node.value)):
            return f".{node.attr} stands on nothing that a reader has"
    return ""


def code_of(text: str) -> str | None:
    """Return the longest beginning of an example that is Python; keywords come as ``dict(...)``."""
    text = text.replace("{}", repr(GAP))
    for end in range(len(text), 0, -1):
        begun = text[:end].rstrip(" ,")
        for code in (f"dict({begun})",) if re.match(r"\w+=(?!=)", text) else (begun, f"{begun})"):
            try:
                compile(code, "example", "eval")
            except (SyntaxError, ValueError):
                continue
            return code
    return None


def whole(example: Example) -> str | None:
    """Return the code of an example that can be run as it stands in the source."""
    text = example.text.removeprefix("for example ").strip()
    if GAP in text or "{}" in text or text.startswith("python -m ") or example.module.startswith(FIELDS):
        return None
    code = code_of(text)
    if code is None or code in PUBLIC or (code.endswith(")") and not text.startswith((code, code[5:-1]))):
        return None  # the beginning of a call, which is completed where it is used
    return code


def _on_a_public_call(node: ast.expr) -> bool:
    while isinstance(node, ast.Attribute | ast.Call | ast.Subscript):
        if isinstance(node, ast.Call) and (isinstance(node.func, ast.Name) or _in_a_room(node.func)):
            return _in_a_room(node.func) or node.func.id in PUBLIC
        node = node.func if isinstance(node, ast.Call) else node.value
    return isinstance(node, ast.Name) and node.id in ("rl", "rhythmlab", SHOWN)


def _in_a_room(node: ast.expr) -> bool:
    """Whether it is a room and a name in it, with or without ``rl`` before them."""
    return re.sub(r"^(rl|rhythmlab)\.", "", ast.unparse(node)) in {name for name in NAMES if "." in name}


#: Names of Python itself that examples may use.
PLAIN = {"range", "dict", "print"} & set(dir(builtins))


def _parameters() -> set[str]:
    """Return what public calls take by name, and what their methods do."""
    found = {"cycle_s", "t0", "taps"}  # what a browser sends, which nobody types
    for name in NAMES:
        found |= set(inspect.signature(by_name(name)).parameters)
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                for method in node.body:
                    if isinstance(method, ast.FunctionDef) and not method.name.startswith("_"):
                        found |= {one.arg for one in (*method.args.args, *method.args.kwonlyargs)}
    return found


PARAMETERS = _parameters()
