"""The guess: asked, kept, brought back beside the answer, and never in the way."""

import json
import os
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.classroom.bank.catalogue import PAGE_IDS, question
from rhythmlab.classroom.reader import figures_of
from rhythmlab.panels import guess as guess_module
from rhythmlab.panels.guess import Guess
from rhythmlab.panels.stage.stage import Stage
from rhythmlab.working_folder import MARK
from tests.profile import tries

#: Why there are so many sounds.
WHY = "5 strokes and 4 strokes make 9, and the one they share is heard once."


def test_predict_returns_a_named_field(capsys):
    """The field says what is asked for; it is empty until something is typed."""
    guess = rl.pages.predict("00-guess")
    assert isinstance(guess, Guess)
    assert guess.description == "sounds in one cycle of 5 against 4"
    assert guess.value == ""
    assert guess.placeholder == "a number"
    assert capsys.readouterr().out == ""  # a panel shows it, or the last line of a cell
    assert "application/vnd.jupyter.widget-view+json" in guess._repr_mimebundle_()


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("", "No guess yet: How many separate sounds do 5 against 4 make in one cycle?"),
        ("  ", "No guess yet: How many separate sounds do 5 against 4 make in one cycle?"),
        (
            "8",
            f"You guessed 8. Right. {WHY}",
        ),
        (" 8 ", f"You guessed 8. Right. {WHY}"),
        ("9", f"You guessed 9. The number of sounds is off: you wrote 9, which is 1 sound too many. {WHY}"),
        ("5", f"You guessed 5. The number of sounds is off: you wrote 5, which is 3 sounds too few. {WHY}"),
        ("lots", "You guessed lots. 'lots' is not a number. Write one number, for example 5."),
        ("8, 9", "You guessed 8, 9. Write one number, for example 5."),
    ],
)
def test_the_guess_comes_back_beside_the_answer(typed, said):
    """Right or how far off, with the reason once; what is missing or cannot be read is told nothing of it."""
    guess = Guess(question("00-guess"))
    guess.value = typed
    assert guess.describe() == said
    assert guess.told == (said if typed.strip() else "")


def test_a_panel_draws_its_guess_and_keeps_it_while_numbers_change():
    """It is a part of the card, made after the panel is shown too; other numbers and homes leave it."""
    guess = Guess(question("00-guess"))
    panel = rl.pages.two_numbers(7, 4, guess=guess)
    assert panel.stage.parts["guess"] is guess
    assert (guess.covered, guess.told) == (True, "")
    guess.value = "8"
    assert (guess.covered, guess.told) == (False, f"You guessed 8. Right. {WHY}")
    panel._pulses.fields[0].value = "16"
    panel.stage.home = 0
    panel._bpm.value = "60"
    assert panel.stage.parts["guess"] is guess
    assert guess.told.startswith("You guessed 8. Right.")
    assert "guess" not in rl.pages.two_numbers(7, 4).stage.parts
    assert rl.pages.move_accent(guess=guess).stage.parts["guess"] is guess


@pytest.mark.parametrize("id", [id for id in PAGE_IDS if id.endswith("guess")])
def test_what_is_told_while_a_panel_is_covered_gives_nothing_away(id):
    """Text that cannot be judged leaves it covered, and says the same whatever the answer is."""
    guess, asked = Guess(question(id)), question(id)
    right = str(asked.right[0])
    for typed in ("", " ", "lots", f"{right}, 3", f"[{right}, 3]", f"about {right}", "x" * 300):
        guess.value = typed
        assert guess.covered
        assert asked.why not in guess.told
        said = guess.told.replace(typed, "").replace("more than 200", "")
        assert not re.search(rf"\b{right}\b", said)
        assert "off" not in guess.told.replace(asked.field, "")


@pytest.mark.parametrize("id", [id for id in PAGE_IDS if id.endswith("guess")])
def test_a_guess_that_is_skipped_shows_the_panel_and_tells_the_answer(id):
    """From a cell as from the button; nothing is kept, and it can be covered and guessed again."""
    guess, asked = Guess(question(id)), question(id)
    guess.covered = False
    assert guess.told.startswith(f"Skipped. The answer is {asked.answer().right}: ")
    assert guess.value == guess_module.recall(id) == ""
    guess.covered = True
    guess.value = str(asked.right[0])
    assert not guess.covered
    assert guess.told.startswith("You guessed ")
    assert " Right. " in guess.told


@pytest.mark.parametrize(
    ("typed", "figures"),
    [
        *(
            ("nine", "9"),
            ("Eight sounds", "8"),
            ("8 sounds.", "8"),
            ("twenty-one", "21"),
            ("a hundred", "100"),
        ),
        *(
            ("two hundred and five", "205"),
            ("ninety nine", "99"),
            ("a thousand and one", "1001"),
            ("once", "1"),
        ),
        *(("nine ten", "nine ten"), ("hundred", "100"), ("twenty thirty", "twenty thirty"), ("", "")),
        *(
            ("one two", "one two"),
            ("sounds", "sounds"),
            ("twenty eleven", "twenty eleven"),
            ("1 000", "1 000"),
        ),
    ],
)
def test_a_guess_in_words_is_read(typed, figures):
    """Numbers in words, with what they count or without; what is no number stays as it was typed."""
    assert figures_of(typed, ("sound",)) == figures


@settings(max_examples=tries(200), deadline=None)
@given(st.integers(0, 999_999))
def test_every_number_in_words_is_that_number(number):
    """As it is said, hundreds and thousands with their ands."""
    assert figures_of(in_words(number)) == str(number)


def in_words(n: int) -> str:
    """Say a number below a million."""
    small = "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen"
    small = f"{small} sixteen seventeen eighteen nineteen".split()
    tens = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
    if n < 20:
        return small[n]
    if n < 100:
        return tens[n // 10 - 2] + (f"-{small[n % 10]}" if n % 10 else "")
    for size, name in ((1000, "thousand"), (100, "hundred")):
        if n >= size:
            rest = n % size
            joint = " and " if rest < 100 else " "
            return f"{in_words(n // size)} {name}" + (joint + in_words(rest) if rest else "")
    raise AssertionError(n)


@pytest.mark.parametrize("key", [key for key in PAGE_IDS if key.endswith("guess")])
def test_a_wrong_guess_says_why_as_a_right_one_does(key):
    """The reason follows what is off, once; a guess that is still missing is told nothing."""
    guess, asked = Guess(question(key)), question(key)
    assert asked.why not in guess.describe()
    for typed, right in ((int(asked.right[0]), True), (int(asked.right[0]) + 3, False)):
        guess.value = str(typed)
        assert guess.describe() == f"You guessed {typed}. {asked.judge(typed).text}" + f" {asked.why}" * (
            not right
        )
        assert guess.describe().count(asked.why) == 1


def test_markup_in_a_guess_is_shown_and_not_run():
    """What was typed is written as text; no page takes it for markup."""
    guess = Guess(question("00-guess"))
    guess.value = "<img src=x>"
    assert guess.told.startswith("You guessed <img src=x>.")
    assert "putText(told,text)" in str(Stage._esm)
    assert "function putText(el,text){if(el.textContent!==text)el.textContent=text}" in str(Stage._esm)


def test_a_guess_is_there_again_tomorrow(folder):
    """A new field for the same question, in a new kernel, holds what was typed before; another does not."""
    (folder / MARK).write_text("{}")
    Guess(question("00-guess")).value = "11"
    guess_module._memory.clear()
    again = Guess(question("00-guess"))
    assert (again.value, again.covered) == ("11", False)
    assert again.told.startswith("You guessed 11.")
    assert Guess(question("01-guess")).value == ""
    assert json.loads((folder / ".rhythmlab-guesses.json").read_text()) == {"00-guess": "11"}


def test_running_the_cell_twice_keeps_the_guess(folder):
    """Also without a working folder, as long as the kernel runs; nothing is written."""
    Guess(question("00-guess")).value = "11"
    assert Guess(question("00-guess")).value == "11"
    assert os.listdir(folder) == []


def test_a_folder_that_cannot_be_written_is_said_beside_the_guess(folder, monkeypatch):
    """The guess still comes back, with the reason why it is gone tomorrow; once it works none is said."""
    (folder / MARK).write_text("{}")
    works = guess_module.write

    def refuse(path, contents):
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr(guess_module, "write", refuse)
    guess = Guess(question("00-guess"))
    guess.value = "8"
    assert guess.told.startswith("You guessed 8. Right.")
    assert guess.told.endswith(
        "(Your guess could not be kept for tomorrow: you are not allowed to write there.)"
    )
    monkeypatch.setattr(guess_module, "write", works)
    guess.value = "11"
    assert "could not be kept" not in guess.told


@pytest.mark.parametrize("damaged", ["{", '{"00-guess": 5}', "[]"])
def test_a_damaged_file_of_guesses_does_not_stop_a_page(folder, damaged):
    """The field is empty, and takes a new guess."""
    (folder / MARK).write_text("{}")
    (folder / ".rhythmlab-guesses.json").write_text(damaged)
    guess = Guess(question("00-guess"))
    assert guess.value == ""
    guess.value = "8"
    assert guess.describe().startswith("You guessed 8. Right.")
    assert (folder / ".rhythmlab-guesses-damaged.json").read_text() == damaged


@settings(max_examples=tries(60), deadline=None)
@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=20))
def test_whatever_is_typed_comes_back(text):
    """Any text gives a sentence, and the sentence starts with it."""
    guess = Guess(question("04-guess"))
    guess.value = text
    typed = text.strip()
    assert guess.describe().startswith(f"You guessed {typed}. " if typed else "No guess yet: ")


@pytest.mark.parametrize("wrong", ["10", 10, question("00-guess"), object()])
def test_what_is_no_guess_is_refused_by_a_panel(wrong):
    """The message shows what was given, and the line that makes a guess."""
    works = re.escape("is not a guess; for example guess=rl.pages.predict('00-guess')")
    with pytest.raises(ValueError, match=works):
        rl.pages.two_numbers(7, 4, guess=wrong)
