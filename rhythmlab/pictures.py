"""A rhythm as a picture, with its text alternative.

Each takes a rhythm, and a notebook shows it
  rl.pictures.strip((7, 4))           the lanes, the line that is heard, and the count
  rl.pictures.shared_grid((7, 4))     every lane on the ticks that they share
  rl.pictures.homes((7, 4), 72)       one rhythm under each of its homes
  rl.pictures.gap_cycle((16, 15), 100)  the gaps as a tide
  rl.pictures.ways((7, 4), 72)        each way to learn it, over the tempos at which it works
  rl.pictures.progress([])            the tempo of each day of practice
  rl.pictures.figure((7, 4))          any of them as a figure of matplotlib
  rl.pictures.filmed((7, 4), 72)      it moves and sounds: after pip install "rhythmlab[film]"
"""

from rhythmlab.rooms import opened as _opened

_opened(__name__)
