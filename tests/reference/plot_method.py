# SPDX-License-Identifier: GPL-3.0-or-later
"""Draws the figures of docs/method.md with NumPy alone: the groove and the coil axes seen from the front, the crosstalk of an invented
cartridge against azimuth, and the same-passage ratio of an invented record that leans. It uses no code of the program.
Usage: plot_method.py FOLDER"""
import pathlib
import sys

import numpy as np

# The colours of the program's pages, which a separate picture must contain itself.
STYLE = """<style>
svg{--paper:#fdfcf9;--ink:#1d1c1a;--faint:#68645c;--line:#d9d5cb;--first:#0072b2;--second:#d55e00;--third:#007a59;color:var(--ink);background:var(--paper)}
@media (prefers-color-scheme:dark){svg{--paper:#16181b;--ink:#ebe8e1;--faint:#a8a399;--line:#3b3e43;--first:#56b4e9;--second:#e69f00;--third:#2fc79a}}
text{font:12px "DejaVu Sans",Verdana,sans-serif;fill:var(--ink)}
.small{font-size:11px;fill:var(--faint)}.left{stroke:var(--first)}.right{stroke:var(--second)}.mark{stroke:var(--third)}.ink{stroke:var(--ink)}
.grid{stroke:var(--line)}.faint{stroke:var(--faint)}path,line,circle{fill:none;stroke-width:1.5}.thick{stroke-width:2.5}.dash{stroke-dasharray:6 4}
.solid-left{fill:var(--first);stroke:none}.solid-right{fill:var(--second);stroke:none}.solid-mark{fill:var(--third);stroke:none}.solid-ink{fill:var(--ink);stroke:none}
.text-left{fill:var(--first)}.text-right{fill:var(--second)}.text-mark{fill:var(--third)}.wall{fill:var(--line);stroke:none}
</style>"""

# The invented cartridge of the page: shear, bend, quadrature shares of the left and the right channel.
SIGMA, BEND, S_LEFT, S_RIGHT = 0.025, 0.015, 0.020, 0.008


def document(name, width, height, title, description, body):
    return (f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" viewBox="0 0 {width} {height}" role="img" '
            f'aria-labelledby="{name}-title {name}-description">\n<title id="{name}-title">{title}</title>\n'
            f'<desc id="{name}-description">{description}</desc>\n{STYLE}\n' + "\n".join(body) + "\n</svg>\n")


def text(x, y, words, anchor="start", cls=""):
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}"' + (f' class="{cls}"' if cls else "") + f">{words}</text>"


def line(a, b, cls):
    return f'<line x1="{a[0]:.1f}" y1="{a[1]:.1f}" x2="{b[0]:.1f}" y2="{b[1]:.1f}" class="{cls}"/>'


def polyline(points, cls):
    return '<path d="M' + " L".join(f"{x:.2f},{y:.2f}" for x, y in points) + f'" class="{cls}"/>'


def arrow(a, b, colour, cls=""):
    """A line from a to b with a head at b."""
    a, b = np.array(a, float), np.array(b, float)
    along = (b - a) / np.linalg.norm(b - a)
    across = np.array([-along[1], along[0]])
    head = [b, b - 10 * along + 4 * across, b - 10 * along - 4 * across]
    return [line(a, b - 6 * along, f"{colour} {cls}".strip()),
            '<path d="M' + " L".join(f"{x:.1f},{y:.1f}" for x, y in head) + f' Z" class="solid-{colour}"/>']


def groove(centre, reach):
    """The record below a V-shaped groove, with a round stylus tip on both walls."""
    x, y = centre
    top, bottom = y + 8, y + 8 + reach
    corners = [(-reach - 55, top), (-reach, top), (0, bottom), (reach, top), (reach + 55, top), (reach + 55, bottom + 14), (-reach - 55, bottom + 14)]
    walls = "M" + " L".join(f"{x + dx},{at}" for dx, at in corners) + " Z"
    radius = 15
    return [f'<path d="{walls}" class="wall"/>', f'<circle cx="{x}" cy="{bottom - radius * np.sqrt(2):.1f}" r="{radius}" class="faint"/>']


def direction(angle_deg, length):
    """Offset on the page of a direction, counted anticlockwise from the viewer's right."""
    angle = np.radians(angle_deg)
    return np.array([length * np.cos(angle), -length * np.sin(angle)])


def front():
    body = []
    for middle, tilt in ((190, 0.0), (560, 15.0)):
        foot = np.array([middle, 226.0])
        body += groove((middle, 190), 62)
        body.append(line(foot + direction(0, 0), foot + direction(90 - tilt, 178), "faint dash"))
        for angle, colour, name in ((45, "left", "left-only groove"), (-45, "right", "right-only groove")):
            body += arrow(foot - direction(angle, 74), foot + direction(angle, 74), colour)
        if tilt:
            for angle, colour in ((45 - tilt, "left"), (-45 - tilt, "right")):
                body.append(line(foot - direction(angle, 108), foot + direction(angle, 108), f"{colour} dash thick"))
            arc = [foot + direction(90 - a, 165) for a in np.linspace(0, tilt, 20)]
            body.append(line(foot, foot + direction(90, 178), "grid"))
            body.append(polyline(arc, "ink"))
            body += arrow(arc[-2], arc[-1] + 0.6 * (arc[-1] - arc[-2]), "ink")
            body.append(text(foot[0] + 52, 60, "+φ, clockwise", "start"))
    a = np.array([190, 226])
    body += [text(190, 26, "upright, φ = 0", "middle"), text(560, 26, "tilted, φ = +15° (drawn large)", "middle"),
             text(*(a + direction(45, 84) + np.array([4, 2])), "left-only", cls="text-left"),
             text(*(a + direction(-45, 84) + np.array([6, 12])), "right-only", cls="text-right"),
             text(80, 224, "inner wall:", cls="small"), text(80, 239, "left channel", cls="small"),
             text(302, 224, "outer wall:", "end", "small"), text(302, 239, "right channel", "end", "small")]
    b = np.array([560, 226])
    body += [text(*(b + direction(30, 114) + np.array([4, 4])), "left coil", cls="text-left"),
             text(*(b + direction(120, 114) + np.array([-6, 0])), "right coil", "end", "text-right")]
    body += arrow((70, 306), (24, 306), "ink")
    body.append(text(78, 310, "spindle"))
    body += arrow((150, 330), (150, 290), "ink") + arrow((150, 330), (190, 330), "ink")
    body += [text(158, 298, "y, up"), text(196, 334, "x, to the viewer's right")]
    body += [text(740 - 290, 352, "Arrows: motion of the stylus as cut.", cls="small"), text(740 - 290, 369, "Dashed in colour: direction that each coil senses.", cls="small")]
    return document("front", 740, 385, "Groove and coil axes, seen from the front",
                    "Two views of a groove from the front of the cartridge. The inner wall on the viewer's left carries the left channel. A left-only groove "
                    "moves the stylus up to the right, a right-only groove down to the right. With a positive tilt the axes of both coils turn clockwise by the same angle.", body)


def response(psi):
    """Crosstalk relative to the receiving channel's own level, right into left and left into right."""
    ll = np.cos(psi + BEND) - 1j * S_LEFT * np.sin(psi + BEND)
    lr = np.sin(psi + SIGMA) + 1j * S_LEFT * np.cos(psi + SIGMA)
    rl = -np.sin(psi - SIGMA) + 1j * S_RIGHT * np.cos(psi - SIGMA)
    rr = np.cos(psi - BEND) + 1j * S_RIGHT * np.sin(psi - BEND)
    return lr / ll, rl / rr


def root(function, low, high):
    for _ in range(80):
        middle = 0.5 * (low + high)
        if function(low) * function(middle) > 0:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def criteria():
    """Azimuths of least crosstalk, equal crosstalk and phase match, radians from ψ = 0."""
    total = lambda psi: sum(np.abs(x) ** 2 for x in response(psi))
    equal = lambda psi: np.subtract(*(np.abs(x) ** 2 for x in response(psi)))
    phase = lambda psi: (response(psi)[0] * np.conj(response(psi)[1])).imag
    step = 1e-5
    return (root(lambda psi: total(psi + step) - total(psi - step), -0.02, 0.02), root(equal, -0.02, 0.02), root(phase, 0.0, 0.025))


def crosstalk():
    left, top, width, height = 70, 40, 610, 270
    low_deg, high_deg, low_db, high_db = -3.0, 3.0, -45.0, -20.0
    at = lambda deg, db: (left + width * (deg - low_deg) / (high_deg - low_deg), top + height * (high_db - db) / (high_db - low_db))
    body = []
    for deg in range(-3, 4):
        body += [line(at(deg, low_db), at(deg, high_db), "grid"), text(at(deg, 0)[0], top + height + 18, f"{deg:+d}°".replace("-", "−") if deg else "0°", "middle")]
    for db in range(-45, -19, 5):
        body += [line(at(low_deg, db), at(high_deg, db), "grid"), text(left - 8, at(0, db)[1] + 4, f"−{-db} dB", "end")]
    deg = np.linspace(low_deg, high_deg, 601)
    both = [20 * np.log10(np.abs(x)) for x in response(np.radians(deg))]
    total = 10 * np.log10(np.sum(np.abs(np.array(response(np.radians(deg)))) ** 2, 0) / 2)
    for values, cls in zip((*both, total), ("left thick", "right thick", "faint dash")):
        inside = values < high_db
        body.append(polyline([at(x, y) for x, y in zip(deg[inside], values[inside])], cls))
    least, equal, phase = (np.degrees(x) for x in criteria())
    marks = ((equal, "equal crosstalk", "mark", 0, "end", -6), (least, "least crosstalk", "ink", 0, "start", 6), (phase, "phase match", "faint", 1, "start", 6))
    for place, name, cls, row, anchor, dx in marks:
        x, y = at(place, 0)[0], top + 17 * row  # the line of a lower label begins below the label above it
        value = "0°" if abs(place) < 0.005 else f"{place:+.2f}°".replace("-", "−")
        body += [line((x, y + (5 if row else 0)), (x, top + height), f"{cls} dash"), text(x + dx, y + 16, f"{name}, {value}", anchor)]
    body += [text(*at(2.6, -21.8), "right into left", "end", "text-left"), text(*at(-2.1, -22.9), "left into right", "start", "text-right"),
             text(at(2.95, 0)[0], at(0, -29.4)[1], "root mean square of both", "end", "small")]
    body += [text(left, 24, "crosstalk relative to the receiving channel's own level"), text(left + width, top + height + 36, "tilt ψ, counted from the zero of the response", "end")]
    return document("crosstalk-ways", 720, 360, "Crosstalk both ways against azimuth",
                    f"Crosstalk of the page's invented cartridge in decibels from -3 to +3 degrees. Both ways are equal at {equal:+.2f} degrees, their "
                    f"sum of squares is least at {least:+.2f} degrees, and their phases agree at {phase:+.2f} degrees.", body)


def lean():
    """A course over three turns at 33 1/3 rpm: a constant, two harmonics along one direction, and noise."""
    rng = np.random.default_rng(24)
    time = np.arange(0.0, 5.4, 0.0213)
    turn = 2 * np.pi * time / 1.8
    constant, along = 0.030 + 0.012j, np.exp(1j * np.radians(20))
    wander = np.radians(0.12) * np.cos(turn - 0.6) + np.radians(0.05) * np.cos(2 * turn + 1.1)
    ratio = constant + along * wander + 2.5e-4 * (rng.standard_normal(time.size) + 1j * rng.standard_normal(time.size))
    columns = np.column_stack([np.ones(time.size)] + [f(k * turn) for k in (1, 2) for f in (np.cos, np.sin)])
    fitted, *_ = np.linalg.lstsq(columns, ratio, rcond=None)
    left, top, size = 70, 40, 250
    spread = 0.0036
    at = lambda z: (left + size * (z.real - constant.real + spread) / (2 * spread), top + size * (constant.imag + spread - z.imag) / (2 * spread))
    body = [line(at(constant + complex(x, -spread)), at(constant + complex(x, spread)), "grid") for x in (-0.003, -0.0015, 0, 0.0015, 0.003)]
    body += [line(at(constant + complex(-spread, y)), at(constant + complex(spread, y)), "grid") for y in (-0.003, -0.0015, 0, 0.0015, 0.003)]
    body += [f'<circle cx="{at(z)[0]:.1f}" cy="{at(z)[1]:.1f}" r="2.2" class="solid-left" fill-opacity="0.45"/>' for z in ratio]
    body += [line(at(fitted[0] - 0.0031 * along), at(fitted[0] + 0.0031 * along), "ink dash"),
             f'<circle cx="{at(fitted[0])[0]:.1f}" cy="{at(fitted[0])[1]:.1f}" r="6" class="solid-mark"/>']
    for x in (-0.003, 0, 0.003):
        body.append(text(at(constant + x)[0], top + size + 18, f"{100 * (constant.real + x):.1f} %", "middle"))
        body.append(text(left - 8, at(constant + 1j * x)[1] + 4, f"{100 * (constant.imag + x):.1f} %", "end"))
    body += [text(left, 24, "same-passage ratio, complex plane"), text(left + size, top + size + 36, "real part", "end"),
             f'<text transform="translate(20 {top + size / 2:.0f}) rotate(-90)" text-anchor="middle">imaginary part</text>',
             text(*(np.array(at(fitted[0])) + np.array([12, 30])), "constant θ₀", cls="text-mark"),
             text(*(np.array(at(fitted[0] + 0.0024 * along)) + np.array([-20, -26])), "axis of the lean", "end")]
    x0, width = 410, 290
    place = lambda t, deg: (x0 + width * t / 5.4, top + size * (0.25 - deg) / 0.5)
    for t in (0, 1.8, 3.6, 5.4):
        body += [line(place(t, -0.25), place(t, 0.25), "grid"), text(place(t, 0)[0], top + size + 18, f"{t:.1f} s", "middle")]
    for deg in (-0.2, -0.1, 0, 0.1, 0.2):
        body += [line(place(0, deg), place(5.4, deg), "grid"), text(x0 - 8, place(0, deg)[1] + 4, f"{deg:+.1f}°".replace("-", "−") if deg else "0°", "end")]
    project = lambda z: np.degrees(((z - fitted[0]) / along).real)
    body += [f'<circle cx="{place(t, d)[0]:.1f}" cy="{place(t, d)[1]:.1f}" r="2.2" class="solid-left" fill-opacity="0.45"/>' for t, d in zip(time, project(ratio))]
    body += [polyline([place(t, d) for t, d in zip(time, project(columns @ fitted))], "right thick"), line(place(0, 0), place(5.4, 0), "mark thick")]
    body += [text(x0, 24, "its part along the lean, over three turns"), text(x0 + width, top + size + 36, "time", "end"),
             text(x0 + 6, top + size - 8, "curve: harmonics of the turn; line: the constant", cls="small")]
    return document("lean", 740, 345, "The same-passage ratio of a record that leans",
                    "Left: the ratios of single frames in the complex plane lie along one axis, about a constant. Right: their part along this axis repeats with every turn of 1.8 seconds.", body)


def main():
    folder = pathlib.Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    for name, drawing in (("front", front()), ("crosstalk", crosstalk()), ("lean", lean())):
        (folder / f"method-{name}.svg").write_text(drawing)


if __name__ == "__main__":
    main()
