"""An exact workbench for polyrhythm, and its notebook pages: import rhythmlab as rl.

Say what it is, in whole numbers
  rl.Polyrhythm(7, 4)                 two or more pulses; (7, 4) is taken, too
  rl.Tempo(72, pulse=1)               its tempo; a number alone is bpm of home
  rl.Feel((7, 4), home=1)             counted from home
  rl.Lane("hands", [0, 3])            strokes of one limb, in ticks
  rl.Cycle(8, [rl.Lane("hands", [0, 3])], beats=[0, 4])  lanes that go round
See and hear how pulses fit
  rl.grid((7, 4))          every stroke on the ticks that they share, as text
  rl.composite((4, 3))     the one line that is heard
  rl.phase_gaps((16, 15))  how far each stroke is from the nearest of the other pulse
  rl.drift((16, 15))       which way a pulse moves against home, and who leads
  rl.sound((7, 4), 72)     a player, and a WAV file
  rl.Mix(levels=[0.5, 1])  levels, sides and voices of a sound
Learn it
  rl.approach((7, 4), 72)      which way to learn it fits at this tempo, and why
  rl.phrases(31)               a large number as small groups
  rl.stick((4, 3, 4, 3), 120)  hands that can play it
  rl.limits()                  the borrowed numbers, each with its source, for you to move
Put it in bars
  rl.metre("7/8")                    a bar and its groups
  rl.pattern("x..x..x.")             your own pattern, or a ready one by its name
  rl.ostinato("x..x..x.", "x.x.xx")  feet against hands
  rl.fill("4/4", 96)                 pairs that can be played in a bar and land on the 1
Take it away: each has .write(path)
  rl.score((7, 4), 72)    notes
  rl.midi((7, 4), 72)     a MIDI file
  rl.cue((7, 4), 72)      a cue track for a band
  rl.strokes((7, 4), 72)  a table of strokes
  rl.handout((7, 4), 72)  two pages on paper
Rooms, each with a map like this one: help(rl.pages)
  rl.pages.two_numbers(7, 4)          panels of the pages, the wall, exercises
  rl.pictures.strip((7, 4))           pictures
  rl.playing.zones((16, 15), 72)      what hands can do and ears can tell
  rl.practice.Journal()               takes, what was early or late, the ladder
  rl.classroom.assignment("gap-cycles")  assignments for every seat, and marking
  rl.Refusal                          what a refused call raises: what is wrong, and an example
"""

from rhythmlab.safe_import import safe_imports as _safe_imports

with _safe_imports():
    from rhythmlab.rooms import opened as _opened

_opened(__name__)
