"""The pages handed out to a class: equal to what the library writes; they run untouched, right and wrong."""

import os
import re

import nbformat
import pytest

from rhythmlab.classroom.assignment import READY, Notice, assignment
from rhythmlab.classroom.handing_out import write_assignment
from rhythmlab.classroom.question import Verdict
from tests.notebooks.pages import ASSIGNMENTS, FOLDER, Page

every_page = pytest.mark.parametrize("page", ASSIGNMENTS, ids=[page.path.name for page in ASSIGNMENTS])
every_ready = pytest.mark.parametrize("name", READY)
MODES = ("practice", "test")


def run(page: Page, change=lambda source: source) -> list[tuple[str, object]]:
    """Run a page from top to bottom, and return each cell's source with what its last line gives."""
    space: dict = {}
    found = []
    for cell in page.cells("code"):
        source = change(page.source(cell))
        try:
            code = compile(source, page.path.name, "eval")
        except SyntaxError:
            exec(compile(source, page.path.name, "exec"), space)
            found.append((source, None))
        else:
            found.append((source, eval(code, space)))
    return found


def replies(shown: list[tuple[str, object]]) -> list[object]:
    return [value for source, value in shown if source.startswith("work.reply")]


def handed_out(name: str, folder, **more) -> Page:
    return Page(write_assignment(name, folder, **more)[0])


@every_ready
def test_the_committed_pages_are_what_the_library_writes(name, tmp_path):
    """Byte for byte, the pupils' and the teacher's."""
    for path in write_assignment(name, tmp_path):
        assert (FOLDER / "assignments" / path.name).read_bytes() == path.read_bytes()


def test_every_ready_assignment_is_there_with_its_answers():
    """Nothing else is in the folder but the page on marking, if it is there."""
    names = {page.path.name for page in ASSIGNMENTS} - {"mark-a-class.ipynb"}
    assert names == {f"{name}{kind}.ipynb" for name in READY for kind in ("", "-answers")}


@every_page
def test_the_page_is_committed_stripped(page):
    """Valid, no outputs, no counts; every cell has an id, once."""
    nbformat.validate(page.notebook)
    for cell in page.cells("code"):
        assert cell["outputs"] == []
        assert cell["execution_count"] is None
    ids = [cell["id"] for cell in page.cells()]
    assert len(set(ids)) == len(ids)
    assert all(set(cell["metadata"]) <= {"tags", "rhythmlab"} for cell in page.cells())
    assert set(page.notebook["metadata"]) <= {"kernelspec", "language_info", "rhythmlab"}


@every_page
def test_the_page_reads_well_aloud(page):
    """One title, headings in order, sentences that end, no signs or pictures that nobody can say."""
    lines = page.text.splitlines()
    assert [line for line in lines if line.startswith("# ")] == [f"# {page.title}"]
    assert not [line for line in lines if line.startswith("###")]
    assert not re.search(r"!\[|<[a-z]|[←-⇿☀-➿]|\be\.g\.|\bi\.e\.", page.text)
    prose = re.sub(r"```.*?```", "", page.text, flags=re.DOTALL)
    for block in re.split(r"\n\n+", prose):
        block = block.strip()
        if block and not block.startswith(("#", "|", "-")):
            assert block[-1] in ".:?;`", block


@every_ready
@pytest.mark.parametrize("mode", MODES)
def test_untouched_it_runs_and_says_what_is_not_answered(name, mode, tmp_path, monkeypatch):
    """Without a seat and with one; nothing fails, nothing is written beside it."""
    ids = READY[name].ids
    for seat in (0, 7):
        page = handed_out(name, tmp_path / f"{seat}", seats=[seat] if seat else None, mode=mode)
        (tmp_path / f"empty {seat}").mkdir()
        monkeypatch.chdir(tmp_path / f"empty {seat}")
        shown = run(page)
        assert all(repr(value).startswith("Not answered yet") for value in replies(shown))
        assert len(replies(shown)) == len(ids)
        last = repr(shown[-1][1])
        assert last.startswith("" if seat else "First type the number of your seat")
        assert f"0 of {len(ids)} are answered. Not answered yet: {ids[0]}, " in last
        asked = [repr(value) for source, value in shown if source.startswith("work.ask")]
        if seat:
            assert asked == [repr(assignment(name, 7).ask(id)) for id in ids]
        else:
            assert set(asked) == {
                "First type the number of your seat at the top of the page, and run the page again."
            }
        assert os.listdir() == []


@every_ready
@pytest.mark.parametrize("mode", MODES)
def test_a_seat_typed_later_brings_its_questions(name, mode, tmp_path):
    """The 0 changed to a seat, as the page says: the same as the page made for that seat."""
    for_all = handed_out(name, tmp_path / "all", mode=mode)
    own = handed_out(name, tmp_path / "own", seats=[23], mode=mode)
    typed = run(for_all, lambda source: source.replace("seat=0", "seat=23"))
    assert [(source, repr(value)) for source, value in typed] == [
        (source, repr(value)) for source, value in run(own)
    ]


def answered(name: str, how: str):
    """Return a change that writes answers into the cells of seat 23: right, none right, or half of them."""
    work = assignment(name, 23)

    def change(source: str) -> str:
        source = source.replace("seat=0", "seat=23")
        if not source.startswith("work.reply"):
            return source
        id = re.search(r'"([\w-]+)"', source)[1]
        right = work.question(id).worked()
        every_other = READY[name].ids.index(id) % 2
        off = [other(part, work.question(id)) for part in right]
        answer = right if how == "right" or (how == "half" and every_other) else off
        return source.replace("answer=[]", f"answer={answer!r}")

    return change


def other(part, asked):
    """Return something of the same kind that is not right."""
    if not isinstance(part, str):
        return part + 1
    swapped = part.translate(str.maketrans("x.RL", ".xLR"))
    if set(part) <= set("x.") or set(part) <= set("RL"):
        return swapped
    scale = asked.scale[0] if asked.scale and isinstance(asked.scale[0], tuple) else asked.scale
    return next(one for one in (*scale, *asked.choices) if one != part)


@every_ready
@pytest.mark.parametrize("how", ["right", "wrong", "half"])
def test_practice_says_at_once_and_a_test_never_says(name, how, tmp_path):
    """Right, wrong and half in both modes; in a test all three read the same to the last cell."""
    practice = run(handed_out(name, tmp_path / "p"), answered(name, how))
    total = len(READY[name].ids)
    right = {"right": total, "wrong": 0, "half": total // 2}[how]
    judged = replies(practice)
    assert all(isinstance(one, Verdict) and one.answered for one in judged)
    assert sum(one.right for one in judged) == right
    assert sum(repr(one).startswith("Right. ") for one in judged) == right
    assert f"{total} of {total} are answered. {right} of them {'is' if right == 1 else 'are'} right." in repr(
        practice[-1][1]
    )
    test = run(handed_out(name, tmp_path / "t", mode="test"), answered(name, how))
    assert all(isinstance(one, Notice) for one in replies(test))
    assert {repr(one) for one in replies(test)} == {"Answered, and it can be read."}
    assert repr(test[-1][1]) == f"{total} of {total} are answered."


@every_ready
def test_the_teachers_page_runs(name):
    """It shows every answer for three seats."""
    (page,) = (page for page in ASSIGNMENTS if page.path.name == f"{name}-answers.ipynb")
    (_, shown) = run(page)[-1]
    assert [row[0] for row in shown.rows] == [seat for seat in (1, 2, 3) for _ in READY[name].ids]
