"""Join small ES modules into the one text that a notebook widget loads.

A widget's module comes from a blob, where relative imports cannot be resolved.
So each module here imports its neighbours only as ``import { a, b } from "./c.mjs";``, and they are joined in
import order, without those lines and without ``export``, except in the module that was asked for.
Comments, space that says nothing and the last semicolon of a block are left out: a page carries the text with
every panel.
"""

import re
from pathlib import Path

from rjsmin import jsmin

_IMPORT = re.compile(r'^import \{ ([\w, ]+) \} from "\./([\w-]+\.mjs)";$')
_NAME = re.compile(r"^(export )?(?:async )?(?:const|let|var|class|function\*?) (\w+)")


def join(entry: Path) -> str:
    """Return a module and all that it imports as one text.

    Parameters
    ----------
    entry : pathlib.Path
        The module to start from; the others lie beside it.

    Raises
    ------
    ValueError
        If an import is not of the one form allowed, names something its module does not export, or goes
        round in a circle; if two modules use one name; or if one holds ``;}``, which would be changed.

    Examples
    --------
    >>> text = join(Path(__file__).with_name("stage.mjs"))
    >>> "import {" in text, "export default" in text
    (False, True)
    """
    texts: dict[str, str] = {}
    owners: dict[str, str] = {}
    _visit(entry, (), texts, owners, {})
    return str(jsmin("\n".join(texts.values()))).replace(";}", "}")


def _visit(
    path: Path,
    above: tuple[str, ...],
    texts: dict[str, str],
    owners: dict[str, str],
    exports: dict[str, set[str]],
) -> None:
    """Add the modules that `path` needs, then `path` itself."""
    name = path.name
    if name in above:
        raise ValueError(f"{' -> '.join((*above, name))} import each other in a circle; move what they share")
    if name in texts:
        return
    kept, exports[name] = [], set()
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        if wanted := _IMPORT.match(line):
            names, module = wanted[1].replace(" ", "").split(","), wanted[2]
            _visit(path.with_name(module), (*above, name), texts, owners, exports)
            missing = [n for n in names if n not in exports[module]]
            if missing:
                raise ValueError(f"{name}:{number}: {module} does not export {missing[0]}")
            continue
        if ";}" in line:
            raise ValueError(f"{name}:{number}: ;}} would lose its semicolon; write ; and }} apart")
        if line.startswith("import") or (line.startswith("export") and above and not _NAME.match(line)):
            raise ValueError(
                f'{name}:{number}: {line!r} cannot be joined; write import {{ a, b }} from "./c.mjs"; '
                "and export function a"
            )
        if declared := _NAME.match(line):
            if declared[2] in owners:
                raise ValueError(f"{name}:{number}: {declared[2]} is also declared in {owners[declared[2]]}")
            owners[declared[2]] = name
            if declared[1]:
                exports[name].add(declared[2])
        kept.append(line.removeprefix("export ") if above else line)
    texts[name] = "\n".join(kept)
