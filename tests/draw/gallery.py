"""A picture of each kind, for what must hold of all of them."""

import rhythmlab as rl
from rhythmlab.draw.pictures import spoken
from rhythmlab.draw.scene import Scene

NASTY = "a \"quoted\" <b> & 'c' \N{WHITE SMILING FACE}"


def tide(pulses: tuple[int, int], home: int = 1) -> Scene:
    """Draw the gaps of two pulses at 100 beats a minute of home."""
    p = rl.Polyrhythm(*pulses)
    return rl.pictures.gap_cycle(
        rl.playing.zones(rl.phase_gaps(p, 1 - home, home), rl.Tempo(100, pulse=home))
    )


SCENES = {
    "strip": rl.pictures.strip(rl.Polyrhythm(7, 4).cycle()),
    "four lanes": rl.pictures.strip(rl.Polyrhythm(2, 3, 4, 5).cycle(1)),
    "grid": rl.pictures.shared_grid(rl.Polyrhythm(3, 4, 5).cycle()),
    "spoken": spoken(rl.Polyrhythm(4, 3)),
    "homes": rl.pictures.homes(rl.Polyrhythm(7, 4), rl.Tempo(72, pulse=1)),
    "tide": tide((16, 15)),
    "tide flipped": tide((16, 15), 0),
    "slips": tide((16, 11)),
    "window": rl.pictures.strip(rl.Polyrhythm(1000, 999).cycle()),
    "nasty": rl.pictures.strip(rl.Cycle(4, [rl.Lane(NASTY, [0, 1]), rl.Lane("b", [0, 2])], beats=[0, 2])),
}
