"""What hands can do and ears can tell, in numbers.

How a pair is heard
  rl.playing.zones((16, 15), 72)   how each gap is heard at a tempo
  rl.playing.flams_from((16, 15))  from which tempo the narrowest gap is a flam
  rl.playing.pull((7, 4), 72)      which pulse tends to pull as the beat
  rl.playing.changeover((7, 4))    the tempos where that changes
Where its strokes are
  rl.playing.midway((16, 15))         the stroke that is exactly midway
  rl.playing.landmarks((16, 15))      strokes on a quarter, a half, three quarters of a beat
  rl.playing.near_ratios((16, 11))    the nearest simple ratios
  rl.playing.slips_around((16, 11))   the simple ratio that it stays close to
  rl.playing.meetings(rl.pattern("x..x"), rl.pattern("x.x.x."))  where two cycles meet
How to learn it, in which words, and with which hands
  rl.playing.sentence((3, 2), "*hear the *har-bour")  a sentence of your own, a syllable a sound
  rl.playing.learning_order([(7, 4), (4, 3)])  which pair before which
  rl.playing.prepare((7, 4))          smaller pairs that prepare it
  rl.playing.nothing_new((12, 8))     whether it is simpler than it looks
  rl.playing.count_phrases(31)        how many ways to say a number as groups
  rl.playing.split((7, 4))            a hand for each pulse
  rl.playing.hand_to_hand((7, 4))     hands that take turns
  rl.playing.check_sticking("RLRR", 120)  your own sticking, judged
  rl.playing.Limit                    what rl.limits() holds: a number and its source
In bars and in other words
  rl.playing.accents("7/8", every=5)  an accent that moves through the bars
  rl.playing.resolve((7, 4))          a pair that lands on a downbeat
  rl.playing.ready_patterns()         claves, bells and others, by name
  rl.playing.euclid(3, 8)             strokes spread as evenly as ticks allow
  rl.playing.other_words((4, 3), 90)  a metre laid over the bar; a metric modulation
  rl.playing.modulation(84, old=3, new=2)  an old and a new tempo, bar by bar
"""

from rhythmlab.rooms import opened as _opened

_opened(__name__)
