"""The panels of the pages, of a workshop and of its wall, and their exercises.

Pages 00 to 04: two pulses, one rhythm
  rl.pages.first_rhythms()      00: say and clap, from 1 against 1 to 4 against 3
  rl.pages.two_numbers(7, 4)    00: any two numbers, shown and sounding
  rl.pages.find_grid(7, 4)      01: the smallest grid that holds all pulses
  rl.pages.merge_pulses(4, 3)   02: the one line that is heard
  rl.pages.choose_home(7, 4)    03: the pulse that is home, and the flip
  rl.pages.follow_gaps(16, 15)  04: the cycle of gaps
Pages 05 to 09: learn it, place it, practise it, write it
  rl.pages.choose_way(7, 4)           05: how to learn a pair at a tempo
  rl.pages.my_hands()                 05: your own fastest steady strokes
  rl.pages.phrase_and_stick(31)       06: a large number as groups, with hands
  rl.pages.land_in_bars(7, 4)         07: a pair that lands on the 1
  rl.pages.move_accent("7/8", every=5)  07: an accent that moves through the bars
  rl.pages.feet_against_hands("x..x..x.", "x.x.xx")  07: an ostinato in the feet
  rl.pages.practise(7, 4)             08: up a ladder of tempos, with a journal
  rl.pages.write_down(7, 4)           09: notes, from either home
  rl.pages.dictation()                09: pairs to write down by ear
For a room
  rl.pages.wall(7, 4)          two numbers on the wall, sounding and counted
  rl.pages.set_list()          a set list on the wall
  rl.pages.workshop_plan(120)  what to say, to ask and to run
Guesses and exercises
  rl.pages.predict("00-guess")        a guess that is kept
  rl.pages.question("01-exercise")    the question of an exercise
  rl.pages.exercise("01-exercise")    an exercise that is answered in a field
  rl.pages.check("01-exercise", answer=30)  which part of an answer is off
  rl.pages.answer("01-exercise")      the worked answer, folded away
"""

from rhythmlab.rooms import opened as _opened

_opened(__name__)
