"""A mill with a cup wheel and a sine plate that grinds what a program says, with errors of its own. It reads the text itself and
shares nothing with the program it checks: tangs are fields of heights on a grid, one for each station, and every straight
move takes off what the rim passes over.

    rim stands at   z of the program + touching off + station + wear - growth of the spindle
    it cuts         (depth - threshold) / (1 + give): the rest is what spindle, head and table give way by; what is below the
                    threshold only rubs, and no spark-out takes it off. The threshold rises as the wheel dulls.
    wear            of the rim's height: volume taken off / (grinding ratio * rim's area), from touching off on

All lengths in mm. The tang counts as a strip as wide as the knife's on average, which only the volume depends on."""
import math
import re

import numpy

LENGTH, WIDTH, CELL = 110.0, 18.0, 2.0
RADIUS, RIM = 30.0, 6.0
WORD = re.compile(r"([A-Z])(-?[\d.]+)")


class Wheel:
    GRINDING_RATIO = 155.0  # the job's wheel has 200 with this coolant
    AREA = math.pi * (2 * RADIUS - RIM) * RIM
    THRESHOLD = 0.002       # freshly dressed
    DULLING = 0.2e-6        # of the threshold, a cubic millimetre of steel

    def __init__(self):
        self.since_dressing = self.since_touching_off = 0.0

    def dress(self):
        self.since_dressing = self.since_touching_off = 0.0

    def takes(self, volume):
        self.since_dressing += volume
        self.since_touching_off += volume

    def wear(self):
        return self.since_touching_off / (self.GRINDING_RATIO * self.AREA)

    def threshold(self):
        return self.THRESHOLD + self.DULLING * self.since_dressing


class Blank:
    """As it lies: ricasso, and how much each face lies off a straight one, by its survey."""

    def __init__(self, ricasso, survey=None):
        self.ricasso = ricasso
        self.survey = survey or [(0.0, 0.0, 0.0), (LENGTH, 0.0, 0.0)]

    def off(self, side, x):
        return numpy.interp(x, [row[0] for row in self.survey], [row[1 if side == "a" else 2] for row in self.survey])


class Tang:
    """One face of one blank, tilted on the plate."""

    def __init__(self, blank, side, tilt):
        x, y = numpy.meshgrid(numpy.arange(CELL / 2, LENGTH, CELL), numpy.arange(CELL / 2 - WIDTH / 2, WIDTH / 2, CELL))
        self.x, self.y, self.tilt = x.ravel(), y.ravel(), tilt
        over_pad = blank.ricasso + blank.off(side, self.x)
        self.along = self.x * math.cos(tilt) - over_pad * math.sin(tilt)
        self.height = self.x * math.sin(tilt) + over_pad * math.cos(tilt)

    def over_pad(self, x):
        """Height of the ground face over the plane that the ricasso lies on."""
        middle = abs(self.y) < CELL
        heights = (self.height - self.x * math.sin(self.tilt)) / math.cos(self.tilt)
        places = numpy.unique(self.x)
        return numpy.interp(x, places, [heights[middle & (self.x == place)].mean() for place in places])

    def passed(self, start, end):
        """Cells that the rim passes over while its centre goes from start to end."""
        way = (end[0] - start[0], end[1] - start[1])
        square = way[0] ** 2 + way[1] ** 2
        from_start = numpy.hypot(self.along - start[0], self.y - start[1])
        from_end = numpy.hypot(self.along - end[0], self.y - end[1])
        if square == 0.0:
            nearest = from_start
        else:
            share = ((self.along - start[0]) * way[0] + (self.y - start[1]) * way[1]) / square
            share = numpy.clip(share, 0.0, 1.0)
            nearest = numpy.hypot(self.along - start[0] - share * way[0], self.y - start[1] - share * way[1])
        return (nearest <= RADIUS) & (numpy.maximum(from_start, from_end) >= RADIUS - RIM)

    def cut(self, start, end, rim, threshold, give):
        """Volume that comes off while the rim stands at that height."""
        if rim > self.height.max():
            return 0.0
        off = numpy.where(self.passed(start, end), (self.height - rim - threshold) / (1.0 + give), 0.0).clip(0.0)
        self.height -= off
        return float(off.sum()) * CELL * CELL


class Machine:
    GIVE = 0.8                     # softer than the profile's likely 8 N/um
    STATION = {1: 0.0, 2: 0.004, 3: -0.003, 4: 0.001}
    GROWTH, GROWTH_S = 0.0015, 900  # of the spindle within a program; it ran warm before
    DAY = 0.0001                   # from load to load, each face: the room warms what was touched off
    PLATE = 0.00003                # the sine plate stands so many radians too steep
    TOUCHING_OFF = 0.0005          # scatter
    LEFT = 0.004                   # the zero plate's own error: faces come out so much too high

    def __init__(self, dice):
        self.dice, self.wheel, self.loads = dice, Wheel(), 0

    def next_load(self):
        self.loads += 1

    def touch_off(self):
        self.wheel.since_touching_off = 0.0
        self.zero = self.LEFT + self.DAY * self.loads + self.dice.gauss(0.0, self.TOUCHING_OFF)

    def rim(self, z, station, seconds):
        grown = self.GROWTH * (1.0 - math.exp(-seconds / self.GROWTH_S))
        return z + self.zero + self.STATION[station] + self.wheel.wear() - grown

    def grind(self, text, side, blanks):
        """One program, on the blanks at these stations; their tangs as they are left."""
        rise = re.search(r"BUTT END RAISED ([\d.]+) mm OVER ([\d.]+) mm", text)
        tilt = math.asin(float(rise[1]) / float(rise[2])) + self.PLATE
        tangs = {station: Tang(blank, side, tilt) for station, blank in blanks.items()}
        self.touch_off()
        at, station, motion, feed, seconds = {"Z": 100.0}, None, 0, None, 0.0
        for line in text.splitlines():
            if line.startswith(("(", "%")):
                continue
            words = [(letter, float(number)) for letter, number in WORD.findall(line)]
            said = dict(words)
            codes = [int(number) for letter, number in words if letter == "G"]
            if 0 in [int(number) for letter, number in words if letter == "M"]:
                raise ValueError("a stop to dress: this shop dresses between loads")
            if 4 in codes:
                seconds += said["P"] / 1000.0
                continue
            for code in codes:
                if code in (0, 1):
                    motion = code
                elif 54 <= code <= 57:
                    station, at = code - 53, {"Z": at["Z"]}
                elif code in (2, 3):
                    raise ValueError("an arc")
            feed = said.get("F", feed)
            to = {letter: said.get(letter, at.get(letter)) for letter in "XYZ"}
            if to == at or None in to.values():
                at = {letter: value for letter, value in to.items() if value is not None}
                continue
            if len(at) == 3:
                seconds += self.move(tangs[station], at, to, station, motion, feed, seconds)
            elif to["Z"] < tangs[station].height.max():
                raise ValueError(f"comes low to station {station}: {line}")
            at = to
        return tangs

    def move(self, tang, at, to, station, motion, feed, seconds):
        start, end = (at["X"], at["Y"]), (to["X"], to["Y"])
        rim = self.rim(to["Z"] if start == end else min(at["Z"], to["Z"]), station, seconds)
        volume = tang.cut(start, end, rim, self.wheel.threshold(), self.GIVE)
        if volume > 0.0 and motion == 0:
            raise ValueError(f"rapid through steel at station {station}: {at} to {to}")
        self.wheel.takes(volume)
        return math.dist([at[axis] for axis in "XYZ"], [to[axis] for axis in "XYZ"]) / (feed / 60.0 if motion else 100.0)


def thickness(faces, blank, x):
    """Of a part, from both its faces."""
    return faces["a"].over_pad(x) + faces["b"].over_pad(x) - blank.ricasso
