"""Notebooks to hand out: what is in them, the same bytes again, and nothing overwritten."""

import json
import os
import re
from pathlib import Path

import nbformat
import pytest
from hypothesis import given
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.classroom.assignment import READY, assignment
from rhythmlab.classroom.bank.catalogue import CLASS_IDS
from rhythmlab.classroom.handing_out import write_assignment
from rhythmlab.classroom.returned import read_notebook
from tests.refusals import refusal
from tests.strategies import TRIES

NAME = "grid-and-composite"
OWN = ["gaps-signed", "hear-pair", "sticking-write"]


def page_of(path: Path) -> dict:
    """Read a notebook, and have it validated against its format."""
    page = json.loads(path.read_text(encoding="utf-8"))
    nbformat.validate(page)
    return page


def sources(page: dict, kind: str = "code", tag: str = "") -> list[str]:
    cells = [cell for cell in page["cells"] if cell["cell_type"] == kind]
    return ["".join(cell["source"]) for cell in cells if not tag or tag in cell["metadata"].get("tags", [])]


@pytest.mark.parametrize("name", READY)
@pytest.mark.parametrize("seats", [None, [7], [3, 1]])
def test_a_page_asks_each_question_once_and_in_order(tmp_path, name, seats):
    """A heading with number and id, the question, then a cell for the reply with the id in its metadata."""
    ids = READY[name].ids
    *pupils, teachers = write_assignment(name, tmp_path, seats=seats)
    assert teachers.name == f"{name}-answers.ipynb"
    assert sorted(os.listdir(tmp_path)) == sorted(path.name for path in pupils)
    assert os.listdir(teachers.parent) == [teachers.name]
    assert teachers.parent == tmp_path.with_name(f"{tmp_path.name}-answers")
    for path, seat in zip(pupils, seats or [0], strict=True):
        page = page_of(path)
        assert path.name == (f"{name}-seat-{seat:03}.ipynb" if seat else f"{name}.ipynb")
        assert page["metadata"]["rhythmlab"] == {"assignment": name, "seat": seat}
        assert sources(page)[0] == "import rhythmlab as rl"
        assert sources(page, tag="seat") == [f'work = rl.classroom.assignment("{name}", seat={seat})']
        assert sources(page, tag="ask") == [f'work.ask("{id}")' for id in ids]
        assert sources(page, tag="reply") == [f'work.reply("{id}", answer=[])' for id in ids]
        assert sources(page, tag="left") == ["work.left()"]
        replies = [cell for cell in page["cells"] if "reply" in cell["metadata"].get("tags", [])]
        assert [cell["metadata"]["rhythmlab"] for cell in replies] == [{"question": id} for id in ids]
        headings = [text for text in sources(page, "markdown") if text.startswith("## Question")]
        assert headings == [f"## Question {i} of {len(ids)}: {id}" for i, id in enumerate(ids, 1)]
        for reply in replies:
            i = page["cells"].index(reply)
            id = reply["metadata"]["rhythmlab"]["question"]
            assert "".join(page["cells"][i - 1]["source"]) == f'work.ask("{id}")'
            assert "".join(page["cells"][i - 2]["source"]).endswith(f": {id}")


@pytest.mark.parametrize("seats", [None, [7]])
@pytest.mark.parametrize("mode", ["practice", "test"])
def test_the_first_words_say_how_long_and_how_to_answer_and_hand_in(tmp_path, mode, seats):
    """Title, minutes, where to begin, how to answer, how to hand in; a test does not promise a check."""
    path, _ = write_assignment(NAME, tmp_path, seats=seats, mode=mode)
    first = sources(page_of(path), "markdown")[0]
    assert first.startswith(f"# Grid and composite{', seat 7' if seats else ''}\n")
    assert f"7 questions, about 40 minutes{'' if mode == 'practice' else ', a test'}." in first
    assert ("like `seat=7`" in first) == (seats is None)
    assert ("This page is for seat 7." in first) == (seats is not None)
    assert ("checked at once" in first) == (mode == "practice")
    assert "**To answer**" in first
    assert "**To hand in**" in first


def test_a_test_page_opens_in_test_mode(tmp_path):
    """The mode stands in the cell of the seat, after it."""
    path, _ = write_assignment(NAME, tmp_path, mode="test", seats=4)
    assert sources(page_of(path), tag="seat") == [
        'work = rl.classroom.assignment("grid-and-composite", seat=4, mode="test")'
    ]


def test_headphones_are_asked_for_where_something_is_heard(tmp_path):
    """And only there."""
    heard, _ = write_assignment("hear-and-read", tmp_path)
    plain, _ = write_assignment(NAME, tmp_path)
    assert "pencil and paper and headphones." in sources(page_of(heard), "markdown")[0]
    assert "headphones" not in plain.read_text()


@pytest.mark.parametrize("seats", [None, range(1, 4)])
@pytest.mark.parametrize("mode", ["practice", "test"])
def test_the_same_input_gives_the_same_bytes_and_nothing_is_written_twice(tmp_path, seats, mode):
    """In another folder the same; in the same folder each file stays, with its time."""
    one, two = (
        write_assignment("week 3", tmp_path / where, ids=OWN, seats=seats, mode=mode) for where in "ab"
    )
    assert [path.name for path in one] == [path.name for path in two]
    assert [path.read_bytes() for path in one] == [path.read_bytes() for path in two]
    for path in one:
        os.utime(path, (10**9, 10**9))
    assert write_assignment("week 3", tmp_path / "a", ids=OWN, seats=seats, mode=mode) == one
    assert all(path.stat().st_mtime == 10**9 for path in one)


def test_a_file_that_differs_stays_and_then_nothing_at_all_is_written(tmp_path):
    """One answered page among thirty: refused by its name, byte for byte as it was, no other page there."""
    (path, answers) = write_assignment(NAME, tmp_path / "pages", seats=[17])
    answers.unlink()
    answers.parent.rmdir()
    answered = path.read_text().replace("answer=[]", "answer=[30]", 1)
    path.write_text(answered)
    refusal(
        lambda: write_assignment(NAME, tmp_path / "pages", seats=range(1, 31)),
        f"{NAME}-seat-017.ipynb",
        "differs; nothing was written",
        FileExistsError,
    )
    assert path.read_text() == answered
    assert os.listdir(tmp_path) == ["pages"]
    assert os.listdir(tmp_path / "pages") == [path.name]


def test_a_folder_that_has_none_beside_it_is_refused():
    """The answers would have no place but the folder itself."""
    refusal(lambda: write_assignment(NAME, "/"), "folder=", "has no folder beside it")


def test_a_link_that_leads_nowhere_is_not_written_through(tmp_path):
    """Something of that name is there, whatever it is."""
    (tmp_path / "pages").mkdir()
    os.symlink(tmp_path / "elsewhere", tmp_path / "pages" / f"{NAME}.ipynb")
    with pytest.raises(FileExistsError):
        write_assignment(NAME, tmp_path / "pages")
    assert not (tmp_path / "elsewhere").exists()


def test_the_teachers_page_has_answers_by_the_same_code(tmp_path):
    """Its cell runs as it stands, for the first three seats of the list; own questions are named in it."""
    *_, ready = write_assignment(NAME, tmp_path, seats=range(4, 30))
    (call,) = sources(page_of(ready), tag="answers")
    assert call == 'rl.classroom.answer_key("grid-and-composite", seats=[4, 5, 6])'
    assert {row[0] for row in eval(call, {"rl": rl}).rows} == {4, 5, 6}
    assert "`seats=range(4, 30)`" in ready.read_text()
    *_, own = write_assignment("week 3", tmp_path, ids=OWN, title="Week 3")
    (call,) = sources(page_of(own), tag="answers")
    found = eval(call, {"rl": rl}).rows
    assert [row[1] for row in found] == OWN * 3
    for seat, id, _, _, right, _ in found:
        assert assignment("week 3", seat).reply(id, answer=right).right
    said = "".join(sources(page_of(own), "markdown"))
    assert said.startswith("# Week 3: answers\n")
    ids = "gaps-signed,hear-pair,sticking-write"
    assert f'python -m rhythmlab grade returned --assignment "week 3" --ids {ids} --to marks' in said


def test_the_teachers_page_of_a_test_says_that_it_is_no_lock(tmp_path):
    """Nobody is to believe that answers are hidden from who can run the library."""
    *_, path = write_assignment(NAME, tmp_path, mode="test")
    assert "That is no lock" in path.read_text()


#: Names that a reader of text could stumble over.
NAMES = ["week 3: Grüße, 拍子", "week (3)", "seat=9", "week, seat=9", "#1", "a/b", "[x]", "a;b", "x" * 80]


@TRIES
@given(
    st.permutations(list(CLASS_IDS)).flatmap(lambda ids: st.integers(1, 5).map(lambda n: ids[:n])),
    st.sampled_from(NAMES),
    st.sampled_from(["practice", "test"]),
)
def test_what_is_handed_out_is_read_back(tmp_path_factory, ids, name, mode):
    """The gradebook's reader finds name, seat and every question of an untouched page, all unanswered."""
    folder = tmp_path_factory.mktemp("out")
    for seats, seat in (([31], 31), (None, 0)):
        path, *_ = write_assignment(name, folder / str(seat), ids=ids, seats=seats, mode=mode)
        found = read_notebook(path, folder)
        assert (found.damage, found.assignment) == ("", name)
        assert (found.seat, found.made_for) == (seat, seat)
        assert [(reply.id, reply.value, reply.unread, reply.changed) for reply in found.replies] == [
            (id, [], "", "") for id in ids
        ]


@pytest.mark.parametrize(
    "name", ["../../escape", "..", "CON", "a/b", "  spaced  ", "<script>", "x" * 80, "拍" * 80, "!!!", "#1 *"]
)
def test_a_hostile_name_stays_in_its_folder_and_runs_nothing(tmp_path, name):
    """The files have safe names with their seats; the page opens the assignment of that very name."""
    where = tmp_path / "pages"
    paths = write_assignment(name, where, ids=["grid-ticks"], seats=[1, 2])
    assert len({path.name for path in paths}) == 3
    assert sorted(os.listdir(tmp_path)) == ["pages", "pages-answers"]
    assert {path.parent for path in paths[:-1]} == {where}
    page = page_of(paths[0])
    space: dict = {}
    exec("\n".join(sources(page)[:2]), space)
    assert space["work"].name == name.strip()
    title = sources(page, "markdown")[0].splitlines()[0]
    assert not re.search(r"(?<!\\)[<*]", title)


@pytest.mark.parametrize("name", ['a"; import os; "', "it's", "a\\", "`a`", "$HOME"])
def test_a_name_that_could_end_its_quotes_is_refused(tmp_path, name):
    """Quotes, backslashes and what a shell would take: named, nothing written."""
    refusal(lambda: write_assignment(name, tmp_path, ids=["grid-ticks"]), "name=", "which a page cannot hold")
    assert os.listdir(tmp_path) == []


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"name": "week 3"}, "is no ready assignment"),
        ({"ids": ["grid-ticks"]}, "questions of its own"),
        ({"ids": ["nope"]}, "there is no question 'nope'"),
        ({"seats": []}, "there is no seat"),
        ({"seats": [0]}, "seat=0"),
        ({"seats": "1-3"}, "is not a list of numbers"),
        ({"mode": "exam"}, "is neither of"),
        ({"title": "a\nb"}, "is not a line"),
        ({"title": "x" * 121}, "is not a line"),
        ({"title": None}, "is not a line"),
        ({"folder": ""}, "is not a folder"),
        ({"folder": 7}, "is not a folder"),
        ({"folder": "a\0b"}, "is not a folder"),
        ({"name": ""}, "is not a name"),
    ],
)
def test_what_cannot_be_used_is_named_and_nothing_is_written(tmp_path, change, said):
    """One sentence each, before any file is made."""
    asked = {"name": NAME, "folder": tmp_path / "pages"} | change
    with pytest.raises(ValueError, match=re.escape(said)):
        write_assignment(asked.pop("name"), asked.pop("folder"), **asked)
    assert os.listdir(tmp_path) == []


def test_questions_of_a_ready_assignment_may_be_given_in_another_order(tmp_path):
    """They are the same questions, so the gradebook marks them all."""
    path, _ = write_assignment(NAME, tmp_path, ids=READY[NAME].ids[::-1])
    assert sources(page_of(path), tag="ask")[0] == 'work.ask("place-syllables")'


def test_a_folder_that_is_a_file_is_named(tmp_path):
    """And so is one in a file; the file stays."""
    (tmp_path / "notes").write_text("mine")
    for folder in (tmp_path / "notes", tmp_path / "notes" / "pages"):
        refusal(
            lambda folder=folder: write_assignment(NAME, folder), "folder=", "is a file", NotADirectoryError
        )
    assert (tmp_path / "notes").read_text() == "mine"


def test_long_work_tells_how_far_it_is(tmp_path):
    """Now and then, in sentences; nothing for a small one."""
    told: list[str] = []
    write_assignment(NAME, tmp_path / "a", seats=range(1, 121), progress=told.append)
    assert told == ["50 of 121 pages written", "100 of 121 pages written"]
    write_assignment(NAME, tmp_path / "b", seats=[1], progress=told.append)
    assert len(told) == 2
