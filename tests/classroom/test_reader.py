"""How a typed answer is read: every literal of an answer, and nothing else, quickly and in a sentence."""

import ast
import re
import time
import tracemalloc
from collections.abc import Callable
from fractions import Fraction
from types import SimpleNamespace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmlab.classroom import reader
from rhythmlab.classroom.reader import MOST_CHARACTERS, Unreadable, read, reply_of
from tests.profile import tries

FEW = settings(max_examples=tries(150), deadline=None)
#: Most seconds of the processor that a refusal may take; they take about a hundredth of it.
SOON = 0.05

plain = st.one_of(
    st.integers(-(10**12), 10**12),
    st.floats(allow_nan=False, allow_infinity=False, min_value=-1e9, max_value=1e9).map(
        lambda x: round(x, 6)
    ),
    st.text("abc RL.x&12", max_size=12),
    st.booleans(),
    st.none(),
)
answers = st.recursive(plain, lambda part: st.lists(part, max_size=5) | st.tuples(part, part), max_leaves=15)


@FEW
@given(value=answers)
def test_what_python_writes_is_read_as_python_reads_it(value):
    """A number, a word, a list and a tuple come back as they were written."""
    assert read(repr(value)) == value == ast.literal_eval(repr(value))


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("", None),
        ("  # nothing yet\n", None),
        ("28", 28),
        ("007", 7),
        ("00", 0),
        ("-08.50", -8.5),
        ("[01, 010/003]", [1, Fraction(10, 3)]),
        ("+3", 3),
        ("-2.5", -2.5),
        (".5", 0.5),
        ("1e3", 1000.0),
        ("400/3", Fraction(400, 3)),
        ("-1/2", Fraction(-1, 2)),
        ("7, 90", (7, 90)),
        ("7,", (7,)),
        ("(7)", 7),
        ("()", ()),
        ("[]", []),
        ("[1, 2,]", [1, 2]),
        ("[1,  # one\n 2]", [1, 2]),
        ("'1', \"& of 2\"", ("1", "& of 2")),
        (r"'it\'s'", "it's"),
        ("[[0, 0.01], [1, 0.02]]", [[0, 0.01], [1, 0.02]]),
    ],
)
def test_an_answer_may_be_written_in_many_ways(text, value):
    """Lists, tuples, fractions, comments, commas at the end; the type is kept."""
    assert read(text) == value
    assert type(read(text)) is type(value)


@pytest.mark.parametrize(
    ("text", "whole"),
    [("3a", "3a"), ("[1_000]", "1_000"), ("0x1F", "0x1F"), ("1.2.3", "1.2.3"), ("3'a'", "3'a'")],
)
def test_what_hangs_on_a_number_is_told_with_it(text, whole):
    """The pupil sees the whole word that is no number, and not a part of it."""
    with pytest.raises(Unreadable) as caught:
        read(text)
    assert str(caught.value).startswith(f"{whole!r} is not a plain number. ")


HOSTILE = {
    "import": "__import__('os').system('true')",
    "call": "print(1)",
    "attribute": "(1).real",
    "name": "answer",
    "f-string": "f'{1}'",
    "bytes": "b'x'",
    "comprehension bomb": "[[0 for x in range(10**9)] for y in range(10**9)]",
    "generator": "(x for x in 'x' * 10**9)",
    "power tower": "9**9**9",
    "product": "'x' * 10**10",
    "sum": "1+1",
    "sums": "1" + "+1" * 9000,
    "minuses": "-" * 15_000 + "1",
    "nots": "not " * 4000 + "1",
    "dots": "a" + ".a" * 9000,
    "deep lists": "[" * 10_000 + "]" * 10_000,
    "deep tuples": "(" * 9999 + "1" + ",)" * 4000,
    "open brackets": "[" * 9000,
    "deep dictionaries": "{1:" * 6000,
    "50 MB word": "'" + "x" * 50_000_000 + "'",
    "50 MB of brackets": "[" * 50_000_000,
    "million digits": "9" * 1_000_000,
    "thousands of digits": "9" * 19_000,
    "digits and a dot": "0." + "3" * 19_000,
    "huge exponent": "1e999999",
    "infinite": "1e999",
    "long exponent": "1e" + "0" * 9000 + "1",
    "not a number": "nan",
    "complex": "1j",
    "hexadecimal": "0x1F",
    "underscores": "1_000",
    "other digits": "[٣]",
    "fullwidth digits": "[３]",
    "superscript": "[²]",
    "null byte": "[1,\0 2]",
    "null in a word": "'\0'",
    "escaped null": r"'\0'",
    "line in a word": "'a\nb'",
    "right to left": "'\u202e'",
    "half a character": "'\ud800'",
    "dictionary": "{'a': 1}",
    "set": "{1}",
    "lambda": "lambda: 1",
    "assignment": "(x := 1)",
    "statement": "1; 2",
    "ellipsis": "[...]",
    "star": "[*[1]]",
    "slice": "[1][0]",
    "open quote": "'abc",
    "printer's quotes": "“1”",
    "printer's minus": "−1",
    "no comma": "[1 2]",
    "words without a comma": "['a' 'b']",
    "missing bracket": "[1, 2",
    "other bracket": "[1, 2)",
    "two commas": "[1,,2]",
    "only a comma": ",",
    "divided by nothing": "1/0",
    "divided twice": "1/2/3",
    "divided decimal": "1.5/2",
    "magic": "%timeit 1",
    "shell": "!rm x",
    "many items": "[" + "1," * 1001 + "]",
}


def refused(reader: Callable[[str], object], text: str) -> Unreadable:
    """Return the refusal of a text, having found that it takes no longer than `SOON` of the processor."""
    took = []
    for _ in range(3):
        start = time.process_time()
        with pytest.raises(Unreadable) as caught:
            reader(text)
        took.append(time.process_time() - start)
    assert min(took) < SOON
    return caught.value


@pytest.mark.parametrize("kind", HOSTILE)
def test_what_is_no_answer_is_refused_soon_and_in_a_sentence(kind):
    """No crash, no recursion, nothing run, and a text that a pupil can read."""
    said = str(refused(read, HOSTILE[kind]))
    assert 20 < len(said) < 300
    assert said.endswith(".")
    assert said.isprintable()


@pytest.mark.parametrize("kind", sorted(set(HOSTILE) - {"only a comma"}))
def test_a_reply_with_such_an_answer_is_told_with_its_id(kind):
    """The question is known, and so is the beginning of what was written, unless the cell is far too long."""
    error = refused(reply_of, f'work.reply("grid-ticks", answer={HOSTILE[kind]})')
    assert error.id == (None if len(HOSTILE[kind]) > 2 * MOST_CHARACTERS else "grid-ticks")
    assert len(error.text) <= 200


@pytest.mark.parametrize("given_", [None, 3, b"[1]", ["1"]])
def test_what_is_not_text_is_refused(given_):
    """There is nothing to read in it."""
    with pytest.raises(Unreadable, match="no text"):
        read(given_)
    with pytest.raises(Unreadable, match="no text"):
        reply_of(given_)


def test_the_longest_answer_is_read_and_a_longer_one_is_not():
    """The limit is exact, and 1 000 items and 30 digits and 20 lists in lists are just allowed."""
    assert len(read("'" + "x" * (MOST_CHARACTERS - 2) + "'")) == MOST_CHARACTERS - 2
    with pytest.raises(Unreadable, match=r"20,001 characters long"):
        read("'" + "x" * (MOST_CHARACTERS - 1) + "'")
    assert len(read("[" + "1," * 999 + "]")) == 999
    with pytest.raises(Unreadable, match="more than 1000 items"):
        read("[" + "1," * 1000 + "]")
    assert read("9" * 30) == 10**30 - 1
    assert read("[" * 20 + "]" * 20) is not None
    with pytest.raises(Unreadable, match="deep"):
        read("[" * 21 + "]" * 21)


@FEW
@given(
    text=st.text(max_size=60)
    | st.text("[](){}'\",.:;0123456789eEjJx-+*/# \\\n\tNoneTruework.ply=", max_size=60)
)
def test_any_text_is_read_or_refused(text):
    """Nothing but `Unreadable` ever comes out; what is read, Python reads alike."""
    for way in (read, reply_of):
        try:
            value = way(text)
        except Unreadable:
            continue
        if way is read and value is not None and "/" not in text:
            assert value == _python(text)


def _python(text: str) -> object:
    return ast.literal_eval(_without_leading_zeros(f"(\n{text}\n)"))


def _without_leading_zeros(text: str) -> str:
    """Python refuses 007 and this reader does not mind."""
    return re.sub(r"(?<![\w.'\"])0+(?=[0-9])", "", text)


@pytest.mark.parametrize(
    ("source", "id", "text", "value"),
    [
        ('work.reply("grid-ticks", answer=[7])', "grid-ticks", "[7]", [7]),
        ("work.reply('grid-ticks', answer=[7]);", "grid-ticks", "[7]", [7]),
        ('\n# mine\nwork . reply ( "a" , answer = 400/3 , ) ;; # done\n', "a", "400/3", Fraction(400, 3)),
        ('work.reply(answer=("x", "."), id="a")', "a", '("x", ".")', ("x", ".")),
        ('work.reply("a", [1, 2])', "a", "[1, 2]", [1, 2]),
        (
            'work.reply(\n    "a",\n    answer=[\n        1,  # one\n    ],\n)',
            "a",
            "[\n        1,  # one\n    ]",
            [1],
        ),
        ('work.reply("a")', "a", "", None),
        ('work.reply("a", answer=)', "a", "", None),
        ('work.reply("a", answer=[])', "a", "[]", []),
        ('page_2.reply("a", answer="1")', "a", '"1"', "1"),
    ],
)
def test_a_reply_is_read_however_it_is_laid_out(source, id, text, value):
    """Order of the names, spaces, comments and semicolons are free."""
    assert reply_of(source) == (id, text, value)


@pytest.mark.parametrize(
    ("source", "says"),
    [
        ("", "The cell is empty."),
        ("# only a comment", "The cell is empty."),
        ("import os", "not one reply"),
        ('work.ask("a")', "not one reply"),
        ('x = work.reply("a", answer=1)', "not one reply"),
        ('work.reply("a", answer=1)\nwork.reply("b", answer=2)', "not one reply"),
        ('work.reply("a", answer=1) or 2', "not one reply"),
        ('work.reply("a", answer=1).marks', "not one reply"),
        ('work.reply("a", answer=1, answer=2)', "'answer' is no part of a reply, or stands twice"),
        ('work.reply("a", seat=2)', "'seat' is no part of a reply"),
        ('work.reply("a", 1, 2)', "There is no bracket round the parts"),
        ("work.reply(3, answer=2)", "does not say to which question"),
        ("work.reply(answer=2)", "does not say to which question"),
        ('work.reply("a" answer=1)', "A comma or a bracket is missing"),
        ('work.reply("a", answer=(4, 5)', "missing at the end"),
        ("work.reply(", "missing at the end"),
    ],
)
def test_anything_beside_one_reply_is_told(source, says):
    """What is missing or too much, and what a reply looks like."""
    with pytest.raises(Unreadable) as caught:
        reply_of(source)
    assert says in str(caught.value)
    assert "work.reply(" in str(caught.value)


def test_the_id_is_found_where_it_stands_behind_an_answer_that_cannot_be_read():
    """A lost answer still belongs to its question."""
    with pytest.raises(Unreadable) as caught:
        reply_of('work.reply(answer=os.name, id="grid-ticks")')
    assert (caught.value.id, caught.value.text) == ("grid-ticks", 'os.name, id="grid-ticks"')


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("[9 * 2]", "'*' is not part"),
        ('[open("x").write("y")]', "'open' is not part"),
        ("[", "']' is missing"),
        ("[3, 4", "']' is missing"),
        ("[3, 4)", "']' is missing"),
        ("{1: 2}", "'{' is not part of an answer. An answer is numbers"),
        ("−1", "type a hyphen. An answer is numbers"),
        ("seven", "'seven' is not part of an answer. An answer is numbers"),
    ],
)
def test_an_answer_that_cannot_be_read_is_shown_without_the_bracket_of_the_reply(typed, says):
    """The pupil sees what the pupil wrote, and which bracket is missing."""
    for source in (f'work.reply("grid-ticks", answer={typed})', f'work.reply("grid-ticks", {typed})'):
        with pytest.raises(Unreadable) as caught:
            reply_of(source)
        assert says in str(caught.value)
        assert (caught.value.id, caught.value.text) == ("grid-ticks", typed)


@pytest.mark.parametrize(
    ("source", "says"),
    [
        ('work.reply("a", answer [1])', "not one reply"),
        ("work.reply(a', answer=[1])", "A quote is opened"),
        ("work.reply(“a”, answer=[1])", "printer's quote"),
        ('work.reply("a", answer=[1]', "missing at the end"),
        ('work.reply(a, "a", 3)', "not one reply"),
    ],
)
def test_a_slip_of_the_hand_outside_the_answer_is_told_with_what_a_reply_looks_like(source, says):
    """A quote, a bracket or the sign between name and answer that is missing."""
    with pytest.raises(Unreadable) as caught:
        reply_of(source)
    assert says in str(caught.value)
    assert str(caught.value).endswith('A reply is one line such as work.reply("grid-ticks", answer=[7]).')


@pytest.mark.parametrize("kind", sorted(set(HOSTILE) - {"divided by nothing", "divided decimal"}))
def test_what_is_no_answer_never_comes_to_the_parser(monkeypatch, kind):
    """Too long, too deep, too large, or not of the few words of an answer: all of it is found before."""
    asked = []
    monkeypatch.setattr(reader, "_value", asked.append)
    with pytest.raises(Unreadable):
        read(HOSTILE[kind])
    assert asked == []


@FEW
@given(text=st.text("[](){}'\",.:;0123456789eEjJx-+*/# \\\n\tNoneTrue", max_size=40))
def test_the_parser_finds_no_fault_in_what_comes_to_it(text):
    """Whatever passes the checks is grammar: the only faults left are fractions that are none."""
    said = ""
    try:
        read(text)
    except Unreadable as error:
        said = str(error)
    assert "This is no answer" not in said


@pytest.mark.parametrize("fault", [MemoryError, RecursionError, SyntaxError])
def test_a_parser_that_gives_up_is_a_refusal(monkeypatch, fault):
    """On a machine with little left, an answer is told as unreadable and the next one is read."""

    def parse(*_: object, **__: object) -> None:
        raise fault

    with monkeypatch.context() as patched:
        patched.setattr(reader, "ast", SimpleNamespace(parse=parse))
        with pytest.raises(Unreadable, match="This is no answer"):
            read("[1]")
    assert read("[1]") == [1]


@pytest.mark.parametrize(
    "text",
    [
        "[" + "'a'," * 998 + "'a']",
        "[" * 20 + "1," * 980 + "]" * 20,
        "[" + "#" * 19_000 + "\n1]",
        "# " * 9_999,
        "'" + "\\\\" * 9_990 + "'",
        ",".join(["9" * 18] * 1_000),
    ],
    ids=["words", "deep", "a comment", "comments", "backslashes", "numbers"],
)
def test_the_largest_answers_take_little_time_and_memory(text):
    """As large, as deep and as long as any answer that is read: under 50 ms and 4 MB."""
    took = []
    for _ in range(3):
        start = time.process_time()
        read(text)
        took.append(time.process_time() - start)
    tracemalloc.start()
    try:
        read(text)
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert min(took) < SOON
    assert peak < 4_000_000
