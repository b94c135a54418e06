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
from tests.notebooks.pages import PAGES, WORKSHOP, Page
from tests.public import PUBLIC

every_page = pytest.mark.parametrize("page", PAGES, ids=[page.path.name for page in PAGES])
TEACHING = [*PAGES, *WORKSHOP]  # what is handed out to a class has tests of its own
every_notebook = pytest.mark.parametrize("page", TEACHING, ids=[page.path.name for page in TEACHING])
for_the_room = pytest.mark.parametrize("page", WORKSHOP, ids=[page.path.name for page in WORKSHOP])
#: A title starts with a verb: add that of a new page here.
VERBS = {"Make", "Find", "Merge", "Choose", "Follow", "Practise", "Phrase", "Put", "Write"}
RECIPE = [
    *("Predict", "Try", "Explain", "Exercise", "For the room", "For the class", "Transfer"),
    *("Away from the screen", "Next", "Sources"),
]
MORE = {"Clap before you count", "Care", "Dictation"}


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
    """From You can and Predict to Next and Sources; a page may add a heading that is listed here."""
    assert "*You can*" in page.sections[""]
    assert "*You need*" in page.sections[""]
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
def test_predict_asks_a_question_before_the_panel_shows_the_answer(page):
    """A question in bold; the guess is asked for before the panel that gets it."""
    assert re.search(r"\*\*[^*]+\?\*\*", page.sections["Predict"])
    code = list(map(page.source, page.cells("code")))
    asks = [i for i, source in enumerate(code) if "rl.pages.predict(" in source]
    shows = [i for i, source in enumerate(code) if "guess=guess" in source]
    assert len(asks) == len(shows) == 1
    assert asks < shows
    headings = [i for i, cell in enumerate(page.notebook["cells"]) if "## Predict" in page.source(cell)]
    assert page.source(page.notebook["cells"][headings[0] + 1]).startswith("guess = rl.pages.predict(")


@every_page
def test_the_code_is_short_and_one_call_a_cell(page):
    """At most eight cells and ten lines; after the import every cell is one line that calls the library."""
    code = list(map(page.source, page.cells("code")))
    assert len(code) <= 8
    assert sum(len(source.splitlines()) for source in code) <= 10
    assert code[0] == "import rhythmlab as rl"
    for source in code[1:]:
        assert re.fullmatch(r"(guess = )?rl\.(\w+\.)?\w+\(.*\)", source), source
        assert re.search(r"rl\.([\w.]+)\(", source)[1] in PUBLIC


@every_page
def test_the_exercise_is_followed_by_its_folded_answer(page):
    """One cell tagged exercise with an empty answer, then one tagged answer whose source is hidden."""
    (exercise,), (answer,) = page.cells("code", "exercise"), page.cells("code", "answer")
    cells = page.notebook["cells"]
    assert cells.index(answer) == cells.index(exercise) + 1
    assert answer["metadata"]["jupyter"] == {"source_hidden": True}
    asked = re.fullmatch(r'rl\.pages\.check\("([\w-]+)", answer=\[\]\)', page.source(exercise))
    assert page.source(answer) == f'rl.pages.answer("{asked[1]}")'
    before = page.source(cells[cells.index(exercise) - 1])
    assert "## Exercise" in before
    hidden = [cell for cell in page.cells() if cell["metadata"].get("jupyter", {}).get("source_hidden")]
    assert hidden == [answer]


@every_page
def test_the_questions_of_a_page_are_its_own(page):
    """The ids of guess and exercise begin with the page's number and exist."""
    asked = re.findall(
        r'rl\.pages\.(?:predict|check|answer)\("([\w-]+)"', "\n".join(map(page.source, page.cells("code")))
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
    found = re.findall(r"\[(\d\d)\]\(([^)]+)\)", PAGES[0].sections[""].partition("for one learner")[2])
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
    (call,) = (s for s in map(page.source, page.cells("code")) if "guess=guess" in s)
    panel = eval(call.replace("guess=guess", "guess=None"), {"rl": rl})
    others = [eval(s, {"rl": rl}) for s in map(page.source, page.cells("code")) if MORE_PANELS.match(s)]
    has = {name for one in (panel, *others) for name in names_of(one)}
    script = str(Stage._esm)
    has |= {name for name in ("Sound", "Practise", "Play along", "Save") if f'drawer.add("{name}"' in script}
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
        if source.startswith("rl.pages.check"):
            assert repr(value).startswith("Not answered yet: ")
        if "guess=guess" in source:
            assert value.stage.notice == ""
            assert value._result.value.startswith("<p role='status'>No guess yet: ")
    assert os.listdir(tmp_path) == []
    capsys.readouterr()


@every_page
def test_the_right_answer_in_its_cell_is_accepted(page):
    """Pasted between the brackets as a reader would write it: right, with the reason."""
    (exercise,) = page.cells("code", "exercise")
    source = page.source(exercise)
    key = re.search(r'"([\w-]+)"', source)[1]
    right = [part if isinstance(part, str) else int(part) for part in rl.pages.question(key).right]
    _, judged = run(page, ["import rhythmlab as rl", source.replace("answer=[]", f"answer={right!r}")])
    assert judged.right
    assert repr(judged).startswith("Right. ")
    _, unanswered = run(page, ["import rhythmlab as rl", source])
    assert repr(unanswered) == f"Not answered yet: {rl.pages.question(key).form}"


@every_page
def test_the_page_asks_what_the_question_asks(page):
    """Exercise and guess on the page are about the numbers that the check works with."""
    for section, call in (("Exercise", r"rl\.pages\.check"), ("Predict", r"rl\.pages\.predict")):
        source = "\n".join(map(page.source, page.cells("code")))
        asked = rl.pages.question(re.search(rf'{call}\("([\w-]+)"', source)[1])
        text = page.sections[section]
        numbers = set(re.findall(r"\d+", asked.text)) - {"1"}
        assert numbers <= set(re.findall(r"\d+", text)), (section, numbers)
        for example in re.findall(r"`(answer=\[.*?\])`", text):
            assert example in asked.form


@every_page
def test_the_guess_is_not_given_away_by_the_panel(page):
    """The panel starts with other numbers than the guess is about."""
    source = "\n".join(map(page.source, page.cells("code")))
    asked = rl.pages.question(re.search(r'rl\.pages\.predict\("([\w-]+)"', source)[1]).text
    starts = re.search(r"rl\.pages\.\w+\((\d+)(?:, (\d+))?[^)]*guess=guess", source)
    if not starts:  # a panel that starts with a bar and a number
        starts = re.search(r'rl\.pages\.\w+\("([^"]+)", (\d+)[^)]*guess=guess', source)
        assert starts[1] not in asked
        return
    shown = f"{starts[1]} against {starts[2]}" if starts[2] else starts[1]
    assert not re.search(rf"\b{shown}\b", asked)


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
