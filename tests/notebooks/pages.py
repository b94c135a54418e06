"""The pages as they are in the folder: read once, cut into sections."""

import json
import re
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from rhythmlab import resources

FOLDER = resources.folder("notebooks")


@dataclass(frozen=True)
class Page:
    """One notebook."""

    path: Path

    @cached_property
    def notebook(self) -> dict:
        """What is in the file."""
        return json.loads(self.path.read_text(encoding="utf-8"))

    def cells(self, kind: str = "", tag: str = "") -> list[dict]:
        """Return cells of a kind, or with a tag."""
        found = [cell for cell in self.notebook["cells"] if kind in ("", cell["cell_type"])]
        return [cell for cell in found if not tag or tag in cell["metadata"].get("tags", [])]

    @staticmethod
    def source(cell: dict) -> str:
        """Return the text of a cell."""
        return "".join(cell["source"])

    @cached_property
    def text(self) -> str:
        """All prose, in order."""
        return "\n\n".join(map(self.source, self.cells("markdown")))

    @cached_property
    def title(self) -> str:
        """The first line, without its mark."""
        return self.text.splitlines()[0].removeprefix("# ")

    @cached_property
    def sections(self) -> dict[str, str]:
        """What stands under each second heading; the beginning under an empty one."""
        pieces = re.split(r"^## (.+)$", self.text, flags=re.MULTILINE)
        return {"": pieces[0], **dict(zip(pieces[1::2], pieces[2::2], strict=True))}

    @cached_property
    def headings(self) -> list[str]:
        """All second headings, in order."""
        return re.findall(r"^## (.+)$", self.text, flags=re.MULTILINE)


#: Every notebook there is; the numbered ones follow the recipe of a page, those of the workshop and the
#: assignments their own.
EVERY = [Page(path) for path in sorted(FOLDER.rglob("*.ipynb")) if ".ipynb_checkpoints" not in path.parts]
PAGES = [page for page in EVERY if page.path.parent == FOLDER]
WORKSHOP = [page for page in EVERY if page.path.parent == FOLDER / "workshop"]
ASSIGNMENTS = [page for page in EVERY if page.path.parent == FOLDER / "assignments"]
