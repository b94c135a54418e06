"""The guess: asked, kept, brought back beside the answer, and never in the way."""

import json
import os
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import rhythmlab as rl
from rhythmlab.classroom.bank.catalogue import PAGE_IDS, question
from rhythmlab.panels import guess as guess_module
from rhythmlab.panels.guess import Guess
from rhythmlab.working_folder import MARK
from tests.profile import tries

#: Why there are so many sounds.
WHY = "5 strokes and 4 strokes make 9, and the one they share is heard once."


def result(panel) -> str:
    """Return what stands in the line for the guess."""
    return panel._result.value


def test_predict_shows_a_named_field_and_returns_it(capsys):
    """The field says what is asked for; it is empty until something is typed."""
    guess = rl.pages.predict("00-guess")
    assert isinstance(guess, Guess)
    assert guess.description == "sounds in one cycle of 5 against 4"
    assert guess.value == ""
    assert guess.placeholder == "type your guess"
    assert "Guess(" in capsys.readouterr().out


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
        ("lots", f"You guessed lots. 'lots' is not a number. Write one number, for example 5. {WHY}"),
    ],
)
def test_the_guess_comes_back_beside_the_answer(typed, said):
    """Right or how far off, with the reason once; an empty one is reminded of and not blamed."""
    guess = Guess(question("00-guess"))
    guess.value = typed
    assert guess.describe() == said
    panel = rl.pages.two_numbers(7, 4, guess=guess)
    assert "role='status'" in result(panel)
    for piece in said.split("'")[::2]:
        assert piece in result(panel).replace("&#x27;", "'")


def test_the_panel_follows_the_guess_and_keeps_it_while_numbers_change():
    """Typed after the panel is shown it appears; other numbers, tempos and homes leave it."""
    guess = Guess(question("00-guess"))
    panel = rl.pages.two_numbers(7, 4, guess=guess)
    assert "No guess yet" in result(panel)
    guess.value = "8"
    assert "You guessed 8. Right." in result(panel)
    panel._pulses.fields[0].value = "16"
    panel.stage.home = 0
    panel._bpm.value = "60"
    assert "You guessed 8. Right." in result(panel)
    assert result(rl.pages.two_numbers(7, 4)) == ""


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
    """What was typed is escaped."""
    guess = Guess(question("00-guess"))
    guess.value = "<img src=x>"
    shown = result(rl.pages.two_numbers(7, 4, guess=guess))
    assert "<img" not in shown
    assert "You guessed &lt;img src=x&gt;." in shown


def test_a_guess_is_there_again_tomorrow(folder):
    """A new field for the same question, in a new kernel, holds what was typed before; another does not."""
    (folder / MARK).write_text("{}")
    Guess(question("00-guess")).value = "11"
    guess_module._memory.clear()
    assert Guess(question("00-guess")).value == "11"
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
    panel = rl.pages.two_numbers(7, 4, guess=guess)
    guess.value = "8"
    assert "You guessed 8. Right." in result(panel)
    assert "(Your guess could not be kept for tomorrow: you are not allowed to write there.)" in result(panel)
    monkeypatch.setattr(guess_module, "write", works)
    guess.value = "11"
    assert "could not be kept" not in result(panel)


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
