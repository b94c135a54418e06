"""Every page follows the recipe, is committed stripped, leads only to what exists, and runs."""

import os
import re
import time

import pytest

import rhythmlab as rl
from rhythmlab import resources
from rhythmlab.classroom.bank.catalogue import PAGE_IDS
from rhythmlab.panels import guess
from rhythmlab.panels.stage.stage import Stage
from rhythmlab.text import numbers
from tests.notebooks.pages import PAGES, WORKSHOP, Page
from tests.public import PUBLIC

every_page = pytest.mark.parametrize("page", PAGES, ids=[page.path.name for page in PAGES])
TEACHING = [*PAGES, *WORKSHOP]  # what is handed out to a class has tests of its own
every_notebook = pytest.mark.parametrize("page", TEACHING, ids=[page.path.name for page in TEACHING])
for_the_room = pytest.mark.parametrize("page", WORKSHOP, ids=[page.path.name for page in WORKSHOP])
#: A title starts with a verb: add that of a new page here.
VERBS = {"Make", "Find", "Merge", "Choose", "Follow", "Practise", "Phrase", "Put", "Write"}
RECIPE = [
    *("Try", "Explain", "Exercise", "For the room", "For the class", "Transfer"),
    *("Away from the screen", "Next", "Sources"),
]
MORE = {"Clap before you count", "Care", "Dictation", "The map"}
#: Most words that stand before the first thing to press.
MOST_WORDS = 60


def test_there_are_pages():
    """They are found by their folder; the first is 00."""
    assert len(PAGES) >= 5
    assert PAGES[0].path.name.startswith("00-")


@every_page
def test_the_title_says_what_to_do_and_the_file_is_named_by_it(page):
    """A verb first, no full stop; the file's name is the number and the title's first words."""
    first, *_ = page.title.split()
    assert first in VERBS
    assert page.text.startswith("# ")
    assert page.title[-1] not in ".!:"
    number, _, slug = page.path.stem.partition("-")
    assert re.fullmatch(r"\d\d", number)
    assert re.sub(r"\W+", "-", page.title.lower()).startswith(slug)


@every_page
def test_every_section_of_the_recipe_is_there_once_and_in_order(page):
    """From You can and Try to Next and Sources; a page may add a heading that is listed here."""
    begins = page.sections[""] + page.sections.get("Clap before you count", "")  # on page 00 hands come first
    assert "*You can*" in begins
    assert "*You need*" in begins
    assert [heading for heading in page.headings if heading not in MORE] == RECIPE
    assert all(page.sections[heading].strip() for heading in page.headings)


@every_page
def test_try_offers_a_small_a_middle_and_a_bold_change(page):
    """Three bullets, in this order, so that nobody is stuck."""
    assert re.findall(r"^- \*(\w+)\*: ", page.sections["Try"], flags=re.MULTILINE) == [
        "Small",
        "Middle",
        "Bold",
    ]


@every_page
def test_the_panel_asks_for_a_guess_before_any_text_of_the_page(page):
    """Its question is a whole one; it follows what a reader needs to begin, and Try stands under it."""
    cells = page.notebook["cells"]
    (asks,) = (i for i, cell in enumerate(cells) if "guess=rl.pages.predict(" in page.source(cell))
    asked = rl.pages.question(re.search(r'rl\.pages\.predict\("([\w-]+)"', page.source(cells[asks]))[1])
    assert re.fullmatch(r"[A-Z0-9].*[a-z0-9]\?", asked.text)
    begins = [*page.headings[: page.headings.index("Try")]]
    assert begins == (["Clap before you count"] if page.path.name.startswith("00") else [])
    under = (page.source(cell) for cell in cells[asks + 1 :] if cell["cell_type"] == "markdown")
    assert next(under).startswith("## Try")


def words_before_the_first_control(page: Page) -> int:
    """Count what is read before a panel, without addresses."""
    read = []
    for cell in page.cells():
        if cell["cell_type"] == "code" and page.source(cell).startswith("rl.pages."):
            break
        if cell["cell_type"] == "markdown":
            read += re.sub(r"\]\([^)]*\)|[#*]", " ", page.source(cell)).split()
    return len(read)


@every_page
def test_few_words_stand_before_the_first_control(page):
    """So that the first panel is on the first screen; on page 00 before any long text."""
    assert words_before_the_first_control(page) <= (25 if page.path.name.startswith("00") else MOST_WORDS)


@every_page
def test_run_all_is_offered_in_the_first_cell(page):
    """One line, in the words of the menu."""
    assert "**Run it all first**: menu *Run*, *Run All Cells*." in page.source(page.cells()[0])


@every_page
def test_transfer_has_one_thing_that_can_be_checked(page):
    """It says how, once."""
    assert page.sections["Transfer"].count("**To check**: ") == 1


@every_page
def test_what_is_pressed_in_try_is_a_button_of_a_panel(page):
    """Each button to try is named under its panel, and each panel can show what it sets."""
    for call in (s for s in map(page.source, page.cells("code")) if "tries=" in s):
        panel = eval(call, {"rl": rl})
        for button in panel._tries.buttons:
            name = re.sub(r" at \d+$", "", button.description)
            assert name in page.sections["Try"] or button.description in page.sections["Try"]
            button.click()
            assert panel.stage.notice == panel.line.text == ""


@every_page
def test_the_code_is_short_and_one_call_a_cell(page):
    """At most eight cells and ten lines; after the import every cell is one call of the library."""
    code = list(map(page.source, page.cells("code")))
    assert len(code) <= 8
    assert sum(len(source.splitlines()) for source in code) <= 10
    assert code[0] == "import rhythmlab as rl"
    for source in code[1:]:
        assert re.fullmatch(r"rl\.(\w+\.)?\w+\(.*\)", source, flags=re.DOTALL), source
        assert all(len(line) <= 110 for line in source.splitlines())
        assert re.search(r"rl\.([\w.]+)\(", source)[1] in PUBLIC


@every_page
def test_the_exercise_is_followed_by_its_folded_answer(page):
    """One cell tagged exercise with its field, then one tagged answer whose source is hidden."""
    (exercise,), (answer,) = page.cells("code", "exercise"), page.cells("code", "answer")
    cells = page.notebook["cells"]
    assert cells.index(answer) == cells.index(exercise) + 1
    assert answer["metadata"]["jupyter"] == {"source_hidden": True}
    asked = re.fullmatch(r'rl\.pages\.exercise\("([\w-]+)"\)', page.source(exercise))
    assert page.source(answer) == f'rl.pages.answer("{asked[1]}")'
    before = page.source(cells[cells.index(exercise) - 1])
    assert "## Exercise" in before
    hidden = [cell for cell in page.cells() if cell["metadata"].get("jupyter", {}).get("source_hidden")]
    assert hidden == [answer]


@every_page
def test_the_questions_of_a_page_are_its_own(page):
    """The ids of guess and exercise begin with the page's number and exist."""
    asked = re.findall(
        r'rl\.pages\.(?:predict|exercise|answer)\("([\w-]+)"', "\n".join(map(page.source, page.cells("code")))
    )
    assert len(asked) == 3
    assert all(key in PAGE_IDS and key.startswith(page.path.name[:2]) for key in asked)


@every_notebook
def test_the_page_is_committed_stripped(page):
    """No outputs, no counts, no traces of a machine; every cell has an id that says what it is, once."""
    for cell in page.cells("code"):
        assert cell["outputs"] == []
        assert cell["execution_count"] is None
    ids = [cell["id"] for cell in page.cells()]
    assert len(set(ids)) == len(ids)
    assert all(re.fullmatch(r"[a-z]+(-[a-z]+)*", name) for name in ids)
    assert all(set(cell["metadata"]) <= {"tags", "jupyter"} for cell in page.cells())
    metadata = page.notebook["metadata"]
    assert set(metadata) == {"kernelspec", "language_info"}
    assert metadata["kernelspec"]["name"] == "python3"
    assert metadata["language_info"] == {"name": "python"}
    assert page.path.read_text(encoding="utf-8").endswith("}\n")


@every_notebook
def test_every_key_in_the_text_is_a_source_and_stands_under_sources(page):
    """A [key] is a row of data/sources.csv, and what is named on the way is listed at the end."""
    keys = {row["key"] for row in resources.table("sources.csv")}
    named = set(re.findall(r"\[([a-z0-9_]+)\](?!\()", page.text)) - {"03", "04", "05", "06", "07", "08"}
    assert named
    assert named <= keys
    assert named == set(re.findall(r"\[([a-z0-9_]+)\](?!\()", page.sections["Sources"]))


@every_notebook
def test_every_link_leads_to_a_page_that_exists(page):
    """Links are to files beside the page, never to the network."""
    links = re.findall(r"\]\(([^)]+)\)", page.text)
    assert links
    for link in links:
        assert (page.path.parent / link).is_file(), link


@every_page
def test_next_leads_to_the_next_page_and_from_the_last_to_the_first(page):
    """One link under Next."""
    following = PAGES[(PAGES.index(page) + 1) % len(PAGES)]
    assert re.findall(r"\]\(([^)]+)\)", page.sections["Next"]) == [
        os.path.relpath(following.path, page.path.parent)
    ]


def test_the_map_leads_to_every_page():
    """Page 00 links to all pages of the folder, in order."""
    found = re.findall(r"\[(\d\d)\]\(([^)]+)\)", PAGES[0].sections["The map"])
    assert [name for _, name in found][: len(PAGES)] == [page.path.name for page in PAGES]
    assert all(name.startswith(number) for number, name in found)


MORE_PANELS = re.compile(r"rl\.pages\.(land_in_bars|feet_against_hands)\(")


def names_of(panel) -> set[str]:
    """Return the names of the fields, buttons and menus of a panel."""
    if hasattr(panel, "_fields"):
        return {field.description for field in panel._fields.values()}
    has = {field.description for field in panel._pulses.fields} | {"home", "view", "bpm"}
    return has | {child.description for child in panel._pulses.children}


@every_page
def test_controls_in_the_table_are_in_the_panel(page):
    """What the table explains is what the panel has: fields, buttons, home, bpm, view."""
    rows = re.findall(r"^\| ([^|]+) \| [^|]+ \|$", page.sections["Explain"], flags=re.MULTILINE)
    if not rows:
        return
    (call,) = (s for s in map(page.source, page.cells("code")) if "guess=" in s)
    panel = eval(call, {"rl": rl})
    others = [eval(s, {"rl": rl}) for s in map(page.source, page.cells("code")) if MORE_PANELS.match(s)]
    has = {name for one in (panel, *others) for name in names_of(one)}
    script = str(Stage._esm)
    has |= {name for name in ("Sound", "Practise", "Play along", "Save") if f'drawer.add("{name}"' in script}
    has |= {part["name"] for part in panel.stage.parts.get("shelf", [])}
    has |= {
        child.description
        for child in (getattr(panel, "_limbs", None), getattr(panel, "_step", None))
        if child
    }
    has |= {name for name in ("Start", "Stop") if f'"{name}"' in script}
    if hasattr(panel, "_pulses") and panel._pulses._grows:
        has |= {"add a pulse", "remove a pulse"}
    named = {name.strip() for row in rows if row not in ("Control", "---") for name in row.split(",")}
    assert named <= has


def run(page: Page, sources: list[str]) -> list[object]:
    """Run cells in one namespace, and return what the last expression of each gives."""
    namespace: dict = {}
    found = []
    for source in sources:
        try:
            code = compile(source, page.path.name, "eval")
        except SyntaxError:
            exec(compile(source, page.path.name, "exec"), namespace)
            found.append(None)
        else:
            found.append(eval(code, namespace))
    return found


@every_page
def test_run_all_is_green_and_says_what_is_not_answered_yet(page, tmp_path, monkeypatch, capsys):
    """Twice from top to bottom, under ten seconds: no error, no notice, the exercise asks to be answered."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(guess, "_memory", {})
    sources = list(map(page.source, page.cells("code")))
    began = time.process_time()
    shown = run(page, sources * 2)
    assert time.process_time() - began < 10
    for source, value in zip(sources * 2, shown, strict=True):
        if source.startswith("rl.pages.exercise"):
            assert value.verdict.text.startswith("Not answered yet: ")
        if "guess=" in source:
            assert value.stage.notice == ""
            assert (value._guess.value, value._guess.told, value._guess.covered) == ("", "", True)
    assert os.listdir(tmp_path) == []
    capsys.readouterr()


@every_page
def test_the_right_answer_is_accepted_in_the_field_and_in_a_cell(page):
    """Typed as on paper, with commas: right, with the reason; and so is the list in a cell."""
    (cell,) = page.cells("code", "exercise")
    _, exercise = run(page, ["import rhythmlab as rl", page.source(cell)])
    asked = exercise.asked
    assert exercise.verdict.text == f"Not answered yet: {asked.form}"
    exercise.field.value = ", ".join(map(str, asked.worked()))
    assert exercise.verdict.right
    assert exercise.verdict.text.startswith("Right. ")
    assert rl.pages.check(asked.id, answer=asked.worked()).right


@every_page
def test_the_page_asks_what_the_question_asks(page):
    """The exercise on the page is about the numbers that the check works with."""
    source = "\n".join(map(page.source, page.cells("code")))
    asked = rl.pages.question(re.search(r'rl\.pages\.exercise\("([\w-]+)"', source)[1])
    text = page.sections["Exercise"]
    named = set(re.findall(r"\d+", asked.text)) - {"1"}
    assert named <= set(re.findall(r"\d+", text)), named
    for example in re.findall(r"`(answer=\[.*?\])`", text):
        assert example in asked.form


#: What answers a guess that no panel shows: it is arithmetic.
WORKED_OUT = {"08-guess"}


@every_page
def test_the_covered_panel_is_about_the_guess(page, monkeypatch):
    """What stands under the guess has its numbers, so that the answer is there to be seen and heard."""
    monkeypatch.setattr(guess, "_memory", {})
    (call,) = (s for s in map(page.source, page.cells("code")) if "guess=" in s)
    asked = rl.pages.question(re.search(r'rl\.pages\.predict\("([\w-]+)"', call)[1])
    if asked.id in WORKED_OUT:
        return
    shown = re.search(r"rl\.pages\.\w+\(([^)]*?), (?:bpm|guess)=", call, flags=re.DOTALL)[1]
    for number in re.findall(r"\d+", shown):
        assert re.search(rf"\b{number}\b", asked.text) or numbers.nth(int(number) - 1)[:3] in asked.text


@for_the_room
def test_a_page_for_the_room_runs_and_says_how_to_take_care(page, tmp_path, monkeypatch):
    """A verb in the title and in the file's name, few cells, keys, care, sources; and it runs."""
    monkeypatch.chdir(tmp_path)
    assert page.path.stem == re.sub(r"[^a-z]+", "-", page.title.lower())
    assert {"For the room", "Care", "Next", "Sources"} <= set(page.headings)
    assert page.sections["Care"].count("[") >= 3
    shown = run(page, list(map(page.source, page.cells("code"))))
    panels = [value for value in shown if value is not None]
    assert panels
    assert all(panel.stage.notice == "" for panel in panels)
    assert os.listdir(tmp_path) == []


def test_page_00_leads_to_the_room():
    """The map of page 00 links every page of the workshop."""
    for page in WORKSHOP:
        assert f"(workshop/{page.path.name})" in PAGES[0].text
