"""What stands inside each pictogram, as (fill, SVG path data); see pictograms.py for the box and the source."""

from math import cos, hypot, radians, sin

BLACK = "#000000"
WHITE = "#ffffff"
_ROUND = 0.5523  # handle length by which four cubic curves make a circle

Point = tuple[float, float]
Shape = tuple[str, str]


def _n(*values: float) -> str:
    return " ".join(f"{round(value, 2):g}" for value in values)


def _polygon(*points: Point) -> str:
    return "M" + " L".join(_n(*point) for point in points) + " Z"


def _disc(x: float, y: float, rx: float, ry: float = 0, tilt: float = 0) -> str:
    """A filled circle, or an ellipse turned by `tilt` degrees."""
    ry = ry or rx
    c, s = cos(radians(tilt)), sin(radians(tilt))

    def at(u: float, v: float) -> str:
        return _n(x + u * rx * c - v * ry * s, y + u * rx * s + v * ry * c)

    k = _ROUND
    return (
        f"M{at(1, 0)} C{at(1, k)} {at(k, 1)} {at(0, 1)} C{at(-k, 1)} {at(-1, k)} {at(-1, 0)} "
        f"C{at(-1, -k)} {at(-k, -1)} {at(0, -1)} C{at(k, -1)} {at(1, -k)} {at(1, 0)} Z"
    )


def _bar(x1: float, y1: float, x2: float, y2: float, width: float, end: float = 0) -> str:
    """A straight bar between two points; `end` is its width at the second point if it tapers (or 0.01)."""
    length = hypot(x2 - x1, y2 - y1)
    nx, ny = -(y2 - y1) / length / 2, (x2 - x1) / length / 2
    end = end or width
    return _polygon(
        (x1 + nx * width, y1 + ny * width),
        (x2 + nx * end, y2 + ny * end),
        (x2 - nx * end, y2 - ny * end),
        (x1 - nx * width, y1 - ny * width),
    )


def _rod(x1: float, y1: float, x2: float, y2: float, width: float) -> tuple[str, ...]:
    """A bar with round ends."""
    return _bar(x1, y1, x2, y2, width), _disc(x1, y1, width / 2), _disc(x2, y2, width / 2)


def _black(*paths: str) -> tuple[Shape, ...]:
    return tuple((BLACK, path) for path in paths)


def _white(*paths: str) -> tuple[Shape, ...]:
    return tuple((WHITE, path) for path in paths)


def _moved(path: str, scale: float, dx: float, dy: float) -> str:
    """Path data scaled about the origin, then moved."""
    out, odd = [], True
    for token in path.replace("M", "M ").replace("L", "L ").replace("C", "C ").replace("Q", "Q ").split():
        if token.isalpha():
            out.append(token)
            continue
        out.append(_n(float(token) * scale + (dx if odd else dy)))
        odd = not odd
    return " ".join(out)


def _placed(shapes: tuple[Shape, ...], scale: float, dx: float = 0, dy: float = 0) -> tuple[Shape, ...]:
    """Shapes scaled about the middle of the box, then moved."""
    away = 50 * (1 - scale)
    return tuple((fill, _moved(path, scale, away + dx, away + dy)) for fill, path in shapes)


def _star(x: float, y: float, points: list[tuple[float, float]]) -> str:
    """A polygon given by (angle in degrees, clockwise from the right, and radius)."""
    return _polygon(*((x + r * cos(radians(a)), y + r * sin(radians(a))) for a, r in points))


# Exploding bomb: a ball torn open at the upper right, a burst out of the tear, rays and splinters around.
def _exploding_bomb() -> tuple[Shape, ...]:
    x, y, r = 45, 57, 16
    rays = []
    for angle, near, far, width in (
        (-168, 20, 29, 5),
        (-136, 20, 32, 5.4),
        (-106, 20, 34, 5.4),
        (-2, 21, 38, 5.4),
        (26, 20, 35, 5.4),
        (54, 20, 31, 5),
        (122, 20, 28, 5),
        (152, 20, 29, 5),
    ):
        c, s = cos(radians(angle)), sin(radians(angle))
        rays.append(_bar(x + near * c, y + near * s, x + far * c, y + far * s, width, 0.8))
    tear = _star(57, 45, [(-180, 9), (-140, 14), (-45, 22), (45, 14), (80, 8.5), (110, 4), (150, 8)])
    burst = _star(
        57, 45,
        [(-120, 4), (-100, 19), (-84, 8), (-64, 27), (-52, 10), (-40, 22), (-30, 9), (-14, 20), (0, 5), (130, 9),
         (160, 3.4), (205, 7)],
    )  # fmt: skip
    return (
        *_black(*rays, _disc(x, y, r)),
        *_white(tear),
        *_black(burst),
        *_white(_disc(36.6, 54.4, 2.4, 5.6, 25)),
    )


_FLAME = (
    "M47 76 C36 74 29 66 30 56 C30.6 49 35 45 36 38 C36.4 35 36 33 35.4 31 C40 33 42.6 37 42.6 42 "
    "C45 38 47.6 33 47 27 C46.7 23.6 45.6 21 44 18.6 C52 21 58 28 58.6 36 C58.8 39 58.4 42 58 44 "
    "C60 42.6 61.4 40 61.6 37 C67 42.6 70.6 49 70 57 C69.4 67 62 74.6 52.6 76 Z"
)
_TONGUE = (
    "M48 76 C42 73.6 39.6 69 40.4 63.6 C41 60 43 57.6 44.4 54.6 C45.4 57 45.6 58.6 45.4 60.6 "
    "C48.6 57 50.4 52.4 49.6 47 C54 50 56.4 55 56 60.4 C57.4 59.4 58.2 57.8 58.4 56 C61 60 61.6 63.6 60.6 67 "
    "C59.4 71.4 56.4 74.6 52 76 Z"
)


def _flame() -> tuple[Shape, ...]:
    def place(path: str) -> str:
        return _moved(path, 0.9, 5, -1)

    return (*_black(place(_FLAME)), *_white(place(_TONGUE)), *_black(_bar(36, 73.2, 64, 73.2, 5)))


def _flame_over_circle() -> tuple[Shape, ...]:
    def place(path: str) -> str:
        return _moved(path, 0.62, 18.5, 2.5)

    return (
        *_black(place(_FLAME)),
        *_white(place(_TONGUE)),
        *_black(_disc(50, 59, 14)),
        *_white(_disc(50, 59, 9)),
        *_black(_bar(38.4, 77.6, 61.6, 77.6, 4.4)),
    )


# Gas cylinder: lying aslant, foot at the lower left, neck and valve at the upper right.
def _gas_cylinder() -> tuple[Shape, ...]:
    c, s = cos(radians(-24)), sin(radians(-24))

    def at(u: float, v: float) -> str:
        return _n(50 + u * c - v * s, 50 + u * s + v * c)

    body = (
        f"M{at(-29, -9.5)} L{at(11, -9.5)} C{at(18, -9.5)} {at(20, -6)} {at(23, -4)} L{at(30, -4)} L{at(30, 4)} "
        f"L{at(23, 4)} C{at(20, 6)} {at(18, 9.5)} {at(11, 9.5)} L{at(-29, 9.5)} "
        f"C{at(-33, 9.5)} {at(-33, -9.5)} {at(-29, -9.5)} Z"
    )
    shine = f"M{at(-25, -5.8)} L{at(10, -5.8)} L{at(13, -4.6)} L{at(10, -3.4)} L{at(-25, -3.4)} Z"
    gap = f"M{at(24.4, -4.6)} L{at(25.8, -4.6)} L{at(25.8, 4.6)} L{at(24.4, 4.6)} Z"
    return (*_black(body), *_white(shine, gap))


# Corrosion: two tubes pour drops, the left one on a metal bar, the right one on a hand; both are eaten away.
def _corrosion() -> tuple[Shape, ...]:
    def tube(x: float, y: float, turn: float) -> tuple[Shape, ...]:
        """A test tube, mouth at (x, y); `turn` is the way from mouth to foot, degrees clockwise."""
        c, s = cos(radians(turn)), sin(radians(turn))
        fx, fy = x + 16 * c, y + 16 * s
        lx, ly = x + 7 * c, y + 7 * s
        return (
            *_black(_bar(x, y, fx, fy, 10), _disc(fx, fy, 5)),
            *_white(
                _bar(x + 2 * c, y + 2 * s, lx, ly, 6),
                _bar(lx + 2.4 * c, ly + 2.4 * s, fx, fy, 6),
                _disc(fx, fy, 3),
            ),
        )

    def drop(x: float, y: float) -> str:
        return (
            f"M{_n(x, y - 4.4)} C{_n(x + 0.6, y - 1.8, x + 2.5, y - 0.6, x + 2.5, y + 1.3)} "
            f"C{_n(x + 2.5, y + 4.3, x - 2.5, y + 4.3, x - 2.5, y + 1.3)} "
            f"C{_n(x - 2.5, y - 0.6, x - 0.6, y - 1.8, x, y - 4.4)} Z"
        )

    bar = _polygon(
        (27.5, 63),
        (31, 63),
        (32.4, 66.4),
        (35, 64.8),
        (37, 67.4),
        (39.4, 65.6),
        (41, 63),
        (48, 63),
        (48, 70),
        (27.5, 70),
    )
    hand = (
        "M51.6 69.6 L51.6 64 L58 62.4 L59.6 65.6 L62.4 63.6 L64.4 66.2 L66 62.8 L73.4 60.2 "
        "C76 59.4 77 61.8 74.8 63 L69.4 66 L75 65 C77.6 64.8 77.6 67.4 75 68 L70 69.4 "
        "C68 72.6 64 74 60 74 L51.6 72.6 Z"
    )
    return (
        *tube(33, 45, -44),
        *tube(59, 45, -44),
        *_black(drop(35, 52), drop(36.4, 60), drop(61, 52), drop(62, 60)),
        *_black(bar, hand),
    )  # fmt: skip


# Skull and crossbones.
def _skull() -> tuple[Shape, ...]:
    bones: list[str] = []
    for x1, y1, x2, y2 in ((26, 56.4, 70, 77), (74, 56.4, 30, 77)):
        bones += _rod(x1, y1, x2, y2, 5)
    for x, y in ((25.4, 53.8), (23.8, 58.6), (74.6, 53.8), (76.2, 58.6)):
        bones.append(_disc(x, y, 3.6))
    for x, y in ((29, 75), (31.4, 80), (71, 75), (68.6, 80)):
        bones.append(_disc(x, y, 3.4))
    head = (
        "M50 16 C63 16 70 25 70 36 C70 43 67.4 47.4 64 50.6 C63 51.6 62.8 53 62.8 55 L62.4 60.4 "
        "C62.2 63.6 57 66 50 66 C43 66 37.8 63.6 37.6 60.4 L37.2 55 C37.2 53 37 51.6 36 50.6 "
        "C32.6 47.4 30 43 30 36 C30 25 37 16 50 16 Z"
    )
    rim = _moved(head, 1.13, -6.5, -5.4)
    return (
        *_black(*bones),
        *_white(rim),
        *_black(head),
        *_white(
            _disc(41.4, 40, 5.8, 5.2, 12),
            _disc(58.6, 40, 5.8, 5.2, -12),
            _polygon((50, 46.4), (53.4, 53), (50.6, 52.4), (49.4, 52.4), (46.6, 53)),
            _bar(44, 57.4, 44, 66, 1.5),
            _bar(48, 57.4, 48, 67, 1.5),
            _bar(52, 57.4, 52, 67, 1.5),
            _bar(56, 57.4, 56, 66, 1.5),
        ),
    )


_EXCLAMATION = (
    "M50 19 C55.4 19 58.8 22.4 58.4 27.6 L55.4 57.4 C55 61.6 45 61.6 44.6 57.4 L41.6 27.6 C41.2 22.4 44.6 19 50 19 Z"
)


# Health hazard: head and shoulders with a star on the chest.
def _health_hazard() -> tuple[Shape, ...]:
    bust = (
        "M50 15 C56.6 15 60.4 20 60.2 26.4 C60 31 58.4 35 55.8 37.4 L56 41 C58 44 64 44.6 68 46.6 "
        "C72 48.6 74.4 52 75.4 56.6 L77 62 L53.4 82 C51.4 84 48.6 84 46.6 82 L23 62 L24.6 56.6 "
        "C25.6 52 28 48.6 32 46.6 C36 44.6 42 44 44 41 L44.2 37.4 C41.6 35 40 31 39.8 26.4 "
        "C39.6 20 43.4 15 50 15 Z"
    )
    star = _star(50, 60, [(a, 20 if i % 2 == 0 else 5.2) for i, a in enumerate(range(-90, 270, 30))])
    return (*_black(bust), *_white(star))


# Environment: a bare tree and a dead fish on the ground.
def _environment() -> tuple[Shape, ...]:
    tree = (
        _polygon((53.6, 66), (57, 52), (56.6, 38), (60.4, 38), (61.4, 48), (63.4, 54), (67, 66)),
        _bar(58.2, 42, 56, 20, 4, 1),
        _bar(58.8, 42, 65.6, 24, 3.6, 1),
        _bar(58, 52, 43.6, 34, 4, 1),
        _bar(50.6, 42.6, 50.2, 29, 2.4, 0.9),
        _bar(52.6, 45, 41, 43, 2.2, 0.9),
        _bar(61.4, 52, 73.4, 36, 3.8, 1),
        _bar(67, 44.6, 67.4, 33, 2.4, 0.9),
        _bar(65, 47, 77, 45, 2.2, 0.9),
        _bar(56.8, 32, 51, 25, 2, 0.8),
        _bar(62.4, 32.6, 70, 29, 2, 0.8),
    )
    ground = (
        "M20 65 C30 62.6 38 66.6 47 65.4 C56 64 66 66.4 80 65 L77.4 69.4 C66 71 58 68.6 48 70 "
        "C40 71 32 68.4 22.6 69.4 Z"
    )
    fish = "M22 58.6 C27 47.6 42 46.6 50.6 54.6 L58.4 49.6 C57.4 54 57.8 59 60.6 63.6 L51.4 60 C43 67.4 28 68 22 58.6 Z"
    return (
        *_black(*tree, ground),
        *_white(_moved(fish, 1.14, -5.9, -8)),
        *_black(fish),
        *_white(
            _bar(27, 54, 31.4, 58.4, 1.6),
            _bar(31.4, 54, 27, 58.4, 1.6),
            "M36 51 C39 54.6 39 59.6 36 63.4 L37.6 63.4 C41 59.6 41 54.6 37.6 51 Z",
        ),
    )


SYMBOLS: dict[str, tuple[Shape, ...]] = {
    "GHS01": _placed(_exploding_bomb(), 0.82, 1, 0),
    "GHS02": _flame(),
    "GHS03": _flame_over_circle(),
    "GHS04": _placed(_gas_cylinder(), 0.86),
    "GHS05": _placed(_corrosion(), 0.94, -1.6, -0.8),
    "GHS06": _placed(_skull(), 0.8, 0, -1.6),
    "GHS07": _black(_EXCLAMATION, _disc(50, 71.4, 6)),
    "GHS08": _placed(_health_hazard(), 0.92, 0, -0.5),
    "GHS09": _placed(_environment(), 0.9, 0, -1),
}
