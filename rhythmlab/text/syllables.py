"""Where an English word is split into syllables: only where a pronouncing dictionary is sure how many it has.

How many there are is looked up in ``data/syllables.txt.gz``, from the CMU dictionary [cmudict]; where they
begin is told by the word's vowels.
A word that the dictionary does not hold, or holds with several counts, is not split.
"""

import gzip
import re
from bisect import bisect_left
from functools import cache
from itertools import pairwise
from unicodedata import combining, normalize

from rhythmlab.resources import folder

#: The file in the data folder.
FILE = "syllables.txt.gz"
#: A line of it that is no term of its licence.
_ENTRY = re.compile("[a-z]+(?:'[a-z]+)? [0-9]+")
#: Consonants that begin a syllable together.
_TOGETHER = frozenset(
    (
        *("bl", "br", "ch", "cl", "cr", "dr", "fl", "fr", "gh", "gl", "gr", "ph", "pl", "pr", "qu", "sh"),
        *("sl", "sp", "st", "sw", "th", "tr", "tw", "wh", "wr"),
    )
)
#: Two vowels that are mostly one sound.
_ONE_SOUND = frozenset(("ai", "au", "ay", "ea", "ee", "ei", "ey", "ie", "oa", "oi", "oo", "ou", "oy", "ue"))
#: Both parts of a compound have at least so many letters, as in light-house.
_LONG_PART = 4


def split(word: str) -> list[str] | None:
    """Split a word into its syllables; None where it is not certain how many there are or where they begin.

    Parameters
    ----------
    word : str
        A word, with or without the marks around it.

    Returns
    -------
    list of str or None
        Its syllables, no letter lost.

    Examples
    --------
    >>> split("something"), split("idea"), split("every"), split("bells")
    (['some', 'thing'], ['i', 'de', 'a'], None, ['bells'])
    """
    found = re.fullmatch(r"([\W_]*)([A-Za-z]+(?:['’][A-Za-z]+)*['’]?)([\W_]*)", word)
    if not found:
        return None
    before, bare, after = found.groups()
    counts = how_many(bare)
    parts = _parted(bare, counts[0]) if len(counts) == 1 else None
    return [before + parts[0], *parts[1:-1], parts[-1] + after] if parts and parts[1:] else parts and [word]


def how_many(word: str) -> tuple[int, ...]:
    """Return how many syllables a word may have; nothing where that is not known.

    Examples
    --------
    >>> how_many("harbour"), how_many("every"), how_many("xyzzy")
    ((2,), (2, 3), ())
    """
    plain = word.lower().replace("’", "'")
    root = re.sub(r"'s?$", "", plain)
    one_more = plain != root and re.search(r"(?:s|x|z|ch|sh|ce|ge|se|ze)$", root) and plain.endswith("'s")
    for spelled in (plain, root, root.replace("our", "or"), re.sub("is(e|ing|ed|es)$", r"iz\1", root)):
        if counts := _listed(spelled):
            return tuple(n + bool(one_more and spelled != plain) for n in counts)
    return (1,) if _surely_one(root) else ()


def hyphened(word: str) -> str:
    """Return a word with hyphens, to show how it is split by hand; empty where that is not certain.

    Examples
    --------
    >>> hyphened("rhythm"), hyphened("every"), hyphened("sea")
    ('rhy-thm', '', '')
    """
    parts = split(re.sub(r"^[\W_]+|[\W_]+$", "", word)) or []
    return "-".join(parts) if parts[1:] else ""


def one_vowel(word: str) -> bool:
    """Whether a word of another language has one vowel alone, and so one syllable, as Tür and blé.

    Examples
    --------
    >>> one_vowel("Stück"), one_vowel("café"), one_vowel("Bäume"), one_vowel("mètre"), one_vowel("vítr")
    (True, False, False, False, False)
    """
    plain = "".join(one for one in normalize("NFD", word.lower()) if not combining(one))
    vowels = re.findall("[aeiouyæœø]", plain)
    return not word.isascii() and len(vowels) == 1 and not re.search("[^aeiouyrlæœø][rlmn]$", plain)


@cache
def _dictionary() -> list[str]:
    """Return the dictionary in order, a word and its counts on each line, without its licence."""
    lines = gzip.decompress((folder("data") / FILE).read_bytes()).decode("ascii").split("\n")
    return sorted(line for line in lines if _ENTRY.fullmatch(line))


def _listed(word: str) -> tuple[int, ...]:
    """Return the counts of a word in the dictionary, each a digit."""
    lines, head = _dictionary(), f"{word} "
    found = "".join(lines[(at := bisect_left(lines, head)) : at + 1])
    return tuple(map(int, found.removeprefix(head))) if found.startswith(head) else ()


def _surely_one(word: str) -> bool:
    """Whether a word that no dictionary holds has one vowel or one pair of vowels, as la, boom and plonk."""
    runs = re.findall("[aeiouy]+", re.sub(r"(?<=[^aeiouy])e$", "", word)) or re.findall("[aeiouy]+", word)
    if not re.fullmatch("[a-z]+", word) or re.search("(?:thm|sm|[bcdfgkptz]le?s?|ed|es)$", word):
        return False
    return len(runs) == 1 and (len(runs[0]) == 1 or runs[0] in _ONE_SOUND)


def _parted(word: str, count: int) -> list[str] | None:
    """Return so many syllables of a word; None where its vowels leave open where they begin."""
    if count == 1:
        return [word]
    plain = word.lower()
    whole = [(plain[:i], plain[i:]) for i in range(_LONG_PART, len(plain) - _LONG_PART + 1)]
    for left, right in whole:  # light-house, some-thing
        few, rest = _listed(left), _listed(right)
        if len(few) == len(rest) == 1 and few[0] + rest[0] == count:
            parts = _parted(word[: len(left)], few[0]), _parted(word[len(left) :], rest[0])
            if parts[0] and parts[1]:
                return [*parts[0], *parts[1]]
    runs, silent = _runs(plain)
    runs = _without_silent(plain, runs, len(runs) - count)
    runs = _apart(plain, runs, count - len(runs))
    if len(runs) == count - 1 and silent:
        runs = [*runs, silent]
    if len(runs) == count - 1 and (ending := re.search("(?:th|s)ms?$", plain)):
        runs.append((plain.index("m", ending.start()),) * 2)
    return _cut(word, runs) if len(runs) == count else None


def _runs(plain: str) -> tuple[list[tuple[int, int]], tuple[int, int] | None]:
    """Return where vowels stand together, and the last of them where it is a silent e."""
    runs = [found.span() for found in re.finditer(r"(?<!q)[aeiou]+y?|(?<=[^aeiou])y+", plain)]
    silent = re.search(r"(?:e|es|ed)$", plain)
    if len(runs) < 2 or not silent or silent.start() != runs[-1][0]:
        return runs, None
    said = plain[: silent.start()]
    spoken = (silent[0] == "ed" and said[-1:] in "td") or (
        silent[0] == "es" and re.search(r"(s|x|z|ch|sh|c|g)$", said)
    )
    spoken = spoken or bool(silent[0] != "ed" and re.search(r"[bcdfgkptz]l$", said))
    return (runs, None) if spoken else (runs[:-1], runs[-1])


def _without_silent(plain: str, runs: list[tuple[int, int]], over: int) -> list[tuple[int, int]]:
    """Return runs without those of a silent e inside the word, which ends the syllable before: lone-ly."""
    for i in range(1, len(runs) - 1):
        (first, _), (a, b) = runs[i - 1], runs[i]
        if over > 0 and plain[a:b] == "e" and a - runs[i - 1][1] in (1, 2):
            return _without_silent(plain, [*runs[: i - 1], (first, b), *runs[i + 1 :]], over - 1)
    return runs


def _apart(plain: str, runs: list[tuple[int, int]], missing: int) -> list[tuple[int, int]]:
    """Return runs with so many of them in two, where it is plain which: qui-et, i-de-a."""
    longer = [run for run in runs if run[1] - run[0] > 1]
    apart = [run for run in longer if plain[run[0] : run[1]] not in _ONE_SOUND]
    chosen = longer if len(longer) == missing else apart if len(apart) == missing else []
    made: list[tuple[int, int]] = []
    for a, b in runs:
        cut = a + 2 if b - a > 2 and plain[a : a + 2] in _ONE_SOUND else a + 1
        made += [(a, cut), (cut, b)] if (a, b) in chosen else [(a, b)]
    return made


def _cut(word: str, runs: list[tuple[int, int]]) -> list[str]:
    """Return a word cut between its vowels."""
    plain, cuts = word.lower(), [0]
    for (_, stop), (start, _) in pairwise(runs):
        between = plain[stop:start]
        tle = between[-1:] == "l" and plain[start:] in ("e", "es", "ed")
        keep = 2 if between[-2:] in _TOGETHER or tle else 1
        cuts.append(start - min(keep, len(between)) if between else start)
    return [word[a:b] for a, b in pairwise([*cuts, len(word)])]
