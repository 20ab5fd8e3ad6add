"""Rounds in turn, medians, and the table."""
import statistics
import sys


def say_progress(text):
    """On a terminal only, in one line."""
    if sys.stderr.isatty():
        print("\r" + text.ljust(78) + ("" if text else "\r"), end="", file=sys.stderr, flush=True)


def in_turn(rounds, measurements):
    """Calls each of {name: function} in turn, `rounds` times, so that what else the machine does hits all alike.
    A function gives {figure: value}; the answer is {name: {figure: [values]}}."""
    found = {name: {} for name in measurements}
    for number in range(rounds):
        for name, measure in measurements.items():
            say_progress(f"{name}, round {number + 1} of {rounds}")
            for figure, value in measure().items():
                found[name].setdefault(figure, []).append(value)
    say_progress("")
    return found


class Report:
    def __init__(self):
        self.missed = []

    def head(self, text):
        print(f"\n{text}")

    def row(self, what, value, unit, reach=None, limit=None):
        """reach: what it should be at most, in words beside it; limit: beyond this the bench fails."""
        words = f"  reach {reach}" if reach else ""
        print(f"  {what:<58} {value:>11,.4g} {unit}{words}")
        if limit is not None and value > limit:
            self.missed.append(f"{what}: {value:.4g} {unit}, at most {limit:.4g}")

    def at_least(self, what, value, unit, reach):
        """Below half of what it should reach the bench fails: a machine is not always quiet."""
        print(f"  {what:<58} {value:>11,.4g} {unit}  reach at least {reach:,.4g}")
        if value < reach / 2:
            self.missed.append(f"{what}: {value:.4g} {unit}, at least {reach / 2:.4g}")

    def rows(self, found, figure, unit, against=None):
        """A figure of each measurement: median, spread, and the ratio to `against`, round by round."""
        for name, figures in found.items():
            values = figures.get(figure)
            if not values:
                continue
            ratio = ""
            if against and name != against and found[against].get(figure):
                ratio = f"  {statistics.median(a / b for a, b in zip(values, found[against][figure])):6.3f} x {against}"
            print(f"  {name:<40} {statistics.median(values):>11,.4g} {unit:<10} ({min(values):.4g} to "
                  f"{max(values):.4g}){ratio}")

    def plot(self, points, unit):
        """{what: value}: a bar each, the longest as long as the line has room for."""
        most = max(points.values()) or 1
        for what, value in points.items():
            print(f"  {what:<20} {value:>9,.4g} {unit:<4} {'#' * round(40 * value / most)}")

    def note(self, text):
        print(f"  {text}")


def median(found, name, figure):
    return statistics.median(found[name][figure])


def ratio(found, name, against, figure):
    """Median of the ratios within each round."""
    return statistics.median(a / b for a, b in zip(found[name][figure], found[against][figure]))
