"""What was played, what it says, and how it goes on from day to day.

What was played
  rl.practice.take_from_midi("kit.mid", (7, 4), 72)  a recording of a kit as a take
  rl.practice.Take                    strokes as panels record them and journals keep them
What it says, where take is one of these
  rl.practice.measure(take)         early, late, missed, uneven, in numbers
  rl.practice.feedback(take)        why it was off, in one sentence, and one thing to do next
  rl.practice.when_lost((4, 3), 5)  where to go when lost
From day to day
  rl.practice.Journal()          what was practised, kept on disk
  rl.practice.Ladder(60, 96)     steps from a tempo to a goal
  rl.practice.measured_limits()  your own limits, as you measured them
"""

from rhythmlab.rooms import opened as _opened

_opened(__name__)
