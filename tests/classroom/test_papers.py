"""Which pages of a seat count: nobody's page disappears, and the teacher decides."""

import shlex
import subprocess
from pathlib import PurePosixPath

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmlab.classroom.desk import counts_typed
from rhythmlab.classroom.papers import Paper, counted, in_python, in_terminal
from tests.strategies import TRIES


def paper(file, seat=7, time=1.0, digest=None, made_for=0, typed=7):
    """Return a paper without rows."""
    return Paper(file, digest or file, time, seat, False, "", (), made_for, typed)


def chosen(papers, counts=None):
    """Return the files that count."""
    return [one.file for one in counted(papers, counts) if not one.why_not]


def folder_of(one):
    """Return the folder that a paper lies in."""
    return PurePosixPath(one.file).parent


#: Papers of two seats in nested folders: few bytes and few times, so that they often agree; some are moved.
#: The bytes say what a page was made for and what stands on it, so the same bytes never differ in that.
_KINDS = {
    **dict.fromkeys("ab", (7, 0, 7)),
    **dict.fromkeys("cd", (7, 7, 7)),
    **dict.fromkeys("ef", (7, 7, 9)),
    **dict.fromkeys("gh", (8, 0, 8)),
}
folders = st.sampled_from(["", "one/", "two/", "one/two/", "back up/one/"])
classes = st.lists(
    st.tuples(folders, st.sampled_from("pqrs"), st.sampled_from(sorted(_KINDS)), st.integers(0, 3)),
    min_size=1,
    max_size=12,
    unique_by=lambda drawn: drawn[:2],
).map(
    lambda drawn: [
        paper(f"{folder}{name}.ipynb", _KINDS[kind][0], float(time), kind, *_KINDS[kind][1:])
        for folder, name, kind, time in drawn
    ]
)


@TRIES
@given(classes)
def test_every_folder_keeps_a_page_of_every_seat_that_handed_one_in(papers):
    """It counts, or the same bytes count elsewhere; no bytes count twice, no file is lost."""
    made = counted(papers)
    assert sorted(one.file for one in made) == sorted(one.file for one in papers)
    best = [one.digest for one in made if not one.why_not]
    assert len(set(best)) == len(best)
    for seat in {one.seat for one in made}:
        for folder in {folder_of(one) for one in made if one.seat == seat}:
            here = {one.digest for one in made if (one.seat, folder_of(one)) == (seat, folder)}
            assert here & set(best)


@TRIES
@given(classes)
def test_only_a_later_page_of_the_same_folder_takes_the_place_of_one(papers):
    """A page that does not count is a copy, or its folder has one that is as late and not worse kept."""
    made = counted(papers)
    best = {one.digest for one in made if not one.why_not}
    for one in made:
        if not one.why_not or one.digest in best:
            continue
        mine = [other for other in made if (other.seat, folder_of(other)) == (one.seat, folder_of(one))]
        instead = [other for other in mine if other.digest in best]
        assert any((not other.moved, other.time) >= (not one.moved, one.time) for other in instead), one.file
        assert not (one.moved is False and all(other.moved for other in instead))


@TRIES
@given(classes, st.randoms(use_true_random=False))
def test_the_order_of_the_papers_changes_nothing(papers, draw):
    """The same papers in any order give the same."""
    mixed = list(papers)
    draw.shuffle(mixed)
    assert counted(mixed) == counted(papers)


@TRIES
@given(classes)
def test_what_there_is_to_decide_is_told_once_and_does_what_it_says(papers):
    """Several pages of a seat that count, and each other page that could; every way is taken by `counts`."""
    made = counted(papers)
    for seat in {one.seat for one in made}:
        mine = [one for one in made if one.seat == seat]
        best = [one for one in mine if not one.why_not]
        several = [one.decision for one in best if one.decision]
        assert len(several) == (len(best) > 1)
        assert all(decision.files == tuple(one.file for one in best) for decision in several)
        digests = {one.digest for one in best}
        for one in mine:
            if one.why_not:
                assert bool(one.decision) == (one.digest not in digests and "The same" not in one.why_not)
        for decision in [one.decision for one in mine if one.decision]:
            assert decision.seat == seat
            for counts, does in decision.ways:
                now = [
                    one.file
                    for one in counted(papers, {seat: counts})
                    if one.seat == seat and not one.why_not
                ]
                assert {
                    "counts only the last one": len(now) == 1,
                    "counts them all": len(now) == len({one.digest for one in mine}),
                    "counts only this one": now == [counts],
                    "counts this one": now == [counts],
                }[does]
                assert not any(one.decision for one in counted(papers, {seat: counts}) if one.seat == seat)


def test_two_groups_with_the_same_seats_are_both_counted():
    """Also where the pages were made for their seats: five pages each in two folders are ten."""
    papers = [
        paper(f"{group}/seat-{seat}.ipynb", seat, time, None, seat, seat)
        for time, group in ((1.0, "first"), (2.0, "second"))
        for seat in range(1, 6)
    ]
    made = counted(papers)
    assert not any(one.why_not for one in made)
    assert [one.decision.seat for one in made if one.decision] == [1, 2, 3, 4, 5]
    said = made[1].decision.text(in_python)
    assert "first/seat-1.ipynb and second/seat-1.ipynb" in said
    assert said.endswith(
        'Look at them: counts={1: "last"} counts only the last one; '
        'counts={1: "first/seat-1.ipynb"} counts only this one.'
    )


def test_of_one_folder_the_last_page_counts_and_the_others_say_so():
    """By time and not by name; equal times by name; which one counts is said, and how to count another."""
    papers = [paper("b.ipynb", time=1), paper("a.ipynb", time=2), paper("c.ipynb", time=0)]
    made = {one.file: one for one in counted(papers)}
    assert not made["a.ipynb"].why_not
    assert made["b.ipynb"].why_not == "Seat 7 handed in a later page, a.ipynb, which counts."
    assert made["b.ipynb"].decision.text(in_python) == (
        'If it is another pupil\'s: counts={7: "all"} counts them all; counts={7: "b.ipynb"} counts this one.'
    )
    made = counted([paper("b.ipynb"), paper("a.ipynb")])
    assert made[0].why_not == "Seat 7 handed in another page with the same time, b.ipynb, which counts."


def test_the_same_bytes_under_another_name_are_one_page():
    """Told as the same page as the first by time, so that none becomes late; going back to it counts too."""
    made = counted([paper("z.ipynb", digest="x"), paper("a/b.ipynb", digest="x", time=9)])
    assert [one.why_not for one in made] == ["The same page as z.ipynb, which counts.", ""]
    made = counted([paper("a", time=1, digest="x"), paper("b", time=2), paper("c", time=3, digest="x")])
    assert [one.why_not for one in made] == [
        *("", "Seat 7 handed in a later page, a, which counts.", "The same page as a, which counts."),
    ]


def test_two_pupils_who_typed_the_same_seat_are_both_counted_and_told():
    """In folders of their own neither takes the place of the other; a later page of one replaces its own."""
    papers = [
        paper("one/page.ipynb", time=1),
        paper("one/again.ipynb", time=2),
        paper("two/page.ipynb", time=3),
    ]
    made = {one.file: one for one in counted(papers)}
    assert chosen(papers) == ["one/again.ipynb", "two/page.ipynb"]
    assert "Perhaps two pupils typed the same seat" in made["two/page.ipynb"].decision.said
    nested = [paper("two/page.ipynb", time=1), paper("again/two/page.ipynb", time=2)]
    assert chosen(nested) == ["again/two/page.ipynb", "two/page.ipynb"]
    same = [paper("two/page.ipynb", time=1, digest="x"), paper("again/two/page.ipynb", time=2, digest="x")]
    assert chosen(same) == ["two/page.ipynb"]


def test_a_page_that_was_passed_on_takes_no_place():
    """Seat 3's page, handed in later with seat 7 typed on it, does not replace the one of seat 3."""
    papers = [paper("a.ipynb", 3, 1.0, None, 3, 3), paper("b.ipynb", 3, 2.0, None, 3, 7)]
    made = counted(papers)
    assert chosen(papers) == ["a.ipynb"]
    assert "made for seat 3 and says seat 7" in made[1].why_not
    assert ("all", "counts them all") in made[1].decision.ways


def test_the_teacher_decides():
    """The last one, all, or one file; another seat or file is refused with what there is and an example."""
    papers = [paper("one/a.ipynb", time=1), paper("two/b.ipynb", time=2), paper("two/c.ipynb", time=3)]
    assert chosen(papers, {}) == ["one/a.ipynb", "two/c.ipynb"]
    assert chosen(papers, {7: "last"}) == ["two/c.ipynb"]
    assert chosen(papers, {7: "all"}) == ["one/a.ipynb", "two/b.ipynb", "two/c.ipynb"]
    assert chosen(papers, {7: "one/a.ipynb"}) == ["one/a.ipynb"]
    for wrong in (
        {8: "last"},
        {7: "d.ipynb"},
        {"7": "last"},
        {7: ["last"]},
        {0: "all"},
        [7],
        "last",
        {True: "last"},
    ):
        with pytest.raises(ValueError, match=r'for example counts=\{7: "last"\}'):
            counted(papers, wrong)
    with pytest.raises(ValueError, match=r"it has one/a\.ipynb, two/b\.ipynb, two/c\.ipynb"):
        counted(papers, {7: "d.ipynb"})


def test_papers_without_a_seat_are_never_one_anothers_copies():
    """Damaged files of the same bytes stay two files."""
    made = counted([paper("a", 0, digest="x"), paper("b", 0, digest="x")])
    assert [one.why_not for one in made] == ["", ""]


@TRIES
@given(
    st.integers(1, 100_000),
    st.one_of(
        st.sampled_from(
            ["last", "all", "a b/c'd.ipynb", 'x"y.ipynb', "$HOME/`ls`.ipynb", "a\\udcff.ipynb", "a!b=%c"]
        ),
        st.text(
            st.characters(exclude_categories=("Cc", "Cf", "Cs", "Zl", "Zp", "Cn", "Co")), min_size=1
        ).filter(lambda name: name.strip() and name.isprintable()),
    ),
)
def test_a_decision_is_typed_as_it_stands(seat, counts):
    """In a notebook it is Python that gives the seat and the page; in a terminal a shell's words do."""
    made = {}
    exec(f"made.update(dict({in_python(seat, counts)}))", {"made": made, "dict": dict})
    assert made == {"counts": {seat: counts}}
    option, text = shlex.split(in_terminal(seat, counts, windows=False))
    assert option == "--counts"
    if set(counts) & set('"\\$`!%'):  # no quotes keep these as they are in each terminal of Windows
        assert in_terminal(seat, counts, windows=True) == ""
    else:
        assert in_terminal(seat, counts, windows=True) == in_terminal(seat, counts, windows=False)
    expected = counts.strip() if counts.strip() in ("last", "all") else counts
    assert counts_typed(text) == (seat, expected)


@pytest.mark.parametrize(
    "name",
    ["$(touch ran).ipynb", "`touch ran`.ipynb", '";touch ran;".ipynb', "';touch ran;'.ipynb", "a;touch ran"],
)
def test_a_name_that_is_a_command_is_not_run_where_a_hint_is_pasted(tmp_path, name):
    """A shell takes the hint for two words, whatever a pupil called the file."""
    typed = in_terminal(7, f"group/{name}", windows=False)
    said = subprocess.run(
        ["sh", "-c", f"printf '%s|' {typed}"], cwd=tmp_path, capture_output=True, text=True, check=True
    ).stdout
    assert said == f"--counts|7=group/{name}|"
    assert list(tmp_path.iterdir()) == []
