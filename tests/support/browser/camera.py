"""A camera that films a drawn figure: what Chromium's own fake camera plays, as a file.

YUV4MPEG2 is text and bytes: a header, and before each frame the word FRAME; of a frame first all of
the brightness, row by row, then a quarter as many numbers for each of two colours, 128 for grey.
"""

from collections.abc import Iterable, Mapping
from pathlib import Path

import numpy as np

Point = tuple[float, float]

WIDTH, HEIGHT = 960, 720
GREY = 128
LIGHT, DARK = 230, 30


def film(path: Path, joints: Mapping[str, Point], lines: Iterable[tuple[str, str]]) -> Path:
    """A still figure on a light ground, ten frames a second."""
    frame = _drawn(joints, lines)
    chroma = bytes([GREY]) * (WIDTH * HEIGHT // 2)
    header = f"YUV4MPEG2 W{WIDTH} H{HEIGHT} F10:1 Ip A1:1 C420\n".encode()
    path.write_bytes(header + (b"FRAME\n" + frame + chroma) * 2)
    return path


def _drawn(joints: Mapping[str, Point], lines: Iterable[tuple[str, str]]) -> bytes:
    down, across = np.mgrid[0:HEIGHT, 0:WIDTH]
    picture = np.full((HEIGHT, WIDTH), LIGHT, np.uint8)
    for start, end in lines:
        (x1, y1), (x2, y2) = joints[start], joints[end]
        length = (x2 - x1) ** 2 + (y2 - y1) ** 2
        share = ((across - x1) * (x2 - x1) + (down - y1) * (y2 - y1)) / length
        share = np.clip(share, 0, 1)
        far = np.hypot(across - x1 - share * (x2 - x1), down - y1 - share * (y2 - y1))
        picture[far < 9] = DARK
    return picture.tobytes()
