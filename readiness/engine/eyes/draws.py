"""Chance that is the same in every language: a small generator with a fixed seed.

Numbers from 0 to 1: Marsaglia, "Xorshift RNGs", *Journal of Statistical Software* 2003;8(14), the
generator of 32 bits with shifts 13, 17, 5 and the paper's own seed. From two of them, two numbers
of the standard normal distribution: Box & Muller, *Annals of Mathematical Statistics*
1958;29:610-611. A tablet draws the same ones (tests/vectors/angles.json).
"""

from collections.abc import Iterator
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

SEED = 2463534242
DRAWS = 4000
_BITS = 0xFFFFFFFF


def xorshift(state: int = SEED) -> Iterator[int]:
    """Whole numbers from 1 to 2³² - 1, for ever; ``state`` is one of them."""
    while True:
        state ^= (state << 13) & _BITS
        state ^= state >> 17
        state ^= (state << 5) & _BITS
        yield state


@lru_cache(maxsize=4)
def draws(points: int) -> tuple[Floats, Floats]:
    """4,000 draws: for each, two normal numbers a point (across, down), and one from -1 to 1.

    A draw takes 2·points numbers u from the generator, two a point: the point's normal numbers
    are √(-2 ln u₁)·cos 2πu₂ and √(-2 ln u₁)·sin 2πu₂. One more, u, gives 2u - 1.
    """
    numbers = xorshift()
    a_draw = 2 * points + 1
    flat = np.array([next(numbers) for _ in range(DRAWS * a_draw)]) / 2.0**32
    uniform = flat.reshape(DRAWS, a_draw)
    first, second = uniform[:, 0:-1:2], uniform[:, 1:-1:2]
    reach, turn = np.sqrt(-2 * np.log(first)), 2 * np.pi * second
    normal = np.stack([reach * np.cos(turn), reach * np.sin(turn)], axis=2)
    return normal, 2 * uniform[:, -1] - 1
