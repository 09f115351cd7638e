"""Sags of strips on two supports, two ways that share nothing with ours.

stdin: a list of {span, load, modulus, width: [[x, w], ..], thickness: [[x, t], ..]}, N and mm.
stdout: for each {"small": sag of the linear beam, M/EI integrated twice, "up": sag of the elastica on supports that push straight up,
"square": on supports that push square to the strip (no friction)}; the last two for strips that mirror at mid-span, else null.
"""

import json
import sys

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq


def section(case):
    def inertia(x):
        w = np.interp(x, *np.transpose(case["width"]))
        t = np.interp(x, *np.transpose(case["thickness"]))
        return w * t**3 / 12.0

    return inertia


def small(case):
    span, load, inertia = case["span"], case["load"], section(case)

    def slope(x, y):
        moment = load / 2 * (x if x < span / 2 else span - x)
        return [y[1], -moment / (case["modulus"] * inertia(x))]

    corners = sorted({0.0, span / 2, span} | {x for x, _ in case["width"] + case["thickness"] if 0 < x < span})
    y, mid = [0.0, 0.0], None
    for a, b in zip(corners, corners[1:]):
        y = solve_ivp(slope, [a, b], y, rtol=1e-11, atol=1e-13, max_step=(b - a) / 8).y[:, -1]
        if b == span / 2:
            mid = y[0]
    # Without a slope at the first support the far end stands at y: the line between the supports is taken off.
    return mid - y[0] / 2


def elastica(case, square):
    """Half the strip, clamped level at mid-span; x runs from there to the support at a fixed distance, z up."""
    half, push, inertia = case["span"] / 2, case["load"] / 2, section(case)

    def run(moment, aside):
        def slope(_, y):
            here = moment - push * y[1] - aside * y[2]
            return [here / (case["modulus"] * inertia(half - min(y[1], half))), np.cos(y[0]), np.sin(y[0])]

        there = lambda _, y: y[1] - half
        there.terminal = True
        y = solve_ivp(slope, [0, 3 * half], [0.0, 0.0, 0.0], events=there, rtol=1e-9, atol=1e-11).y[:, -1]
        return y, moment - push * y[1] - aside * y[2]

    aside = 0.0
    for _ in range(60):
        moment = brentq(lambda m: run(m, aside)[1], 0.5 * push * half, 2 * push * half, xtol=1e-9 * push * half)
        end = run(moment, aside)[0]
        new = push * np.tan(end[0]) if square else 0.0
        if abs(new - aside) < 1e-8 * push:
            break
        aside = new
    return end[2]


answers = []
for case in json.load(sys.stdin):
    answer = {"small": small(case), "up": None, "square": None}
    if case["mirrored"]:
        answer["up"], answer["square"] = elastica(case, False), elastica(case, True)
    answers.append(answer)
json.dump(answers, sys.stdout)
