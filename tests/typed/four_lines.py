"""A reader's first script, as an editor sees it: every name is known, and no line is marked as wrong."""

import rhythmlab as rl

rl.composite((7, 4)).intervals.tolist()
rl.sound((7, 4), 72, count_in=4).write("7-against-4.wav")
print(rl.stick((4, 3, 4, 3), 120), rl.phase_gaps((16, 15)).ms(60), rl.limits()["beat"].low)
rl.pages.two_numbers((7, 4), bpm=rl.Tempo(72, pulse=1))
print(rl.playing.learning_order([(7, 4), (3, 2)]), rl.Feel((7, 4)), rl.playing.resolve((7, 4)).describe(120))
rl.handout(rl.Polyrhythm(7, 4), rl.Tempo(72, pulse=1), limits=rl.limits(flam=30)).write("seat-4.pdf")
