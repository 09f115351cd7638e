"""The margin in twist of one tapered, curved limb under its string, by SciPy from the root out. Writes the margin."""

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

length, tension, angle, string = 600.0, 300.0, np.radians(20.0), 800.0
width = lambda s: 44.0 - 28.0 * s / length
thick = lambda s: 10.5 - 3.0 * s / length
flat = lambda s: 20_000.0 * width(s) * thick(s) ** 3 / 12.0
sideways = lambda s: 20_000.0 * width(s) ** 3 * thick(s) / 12.0
curl = lambda s: -1.0 / 220.0 / (1.0 + np.exp(-(s - 380.0) / 25.0))


def plane(x, y):
    s = length - x
    return [np.cos(y[2]), np.sin(y[2]), -(curl(s) + tension * y[1] / flat(s))]


bent = solve_ivp(plane, (0.0, length), [0.0, 0.0, angle], method="DOP853", rtol=1e-11, atol=1e-11, dense_output=True).sol


def held(softer):
    def slopes(s, y):
        _, p, psi = bent(length - s)
        w, v, turn, a, c = y.reshape(5, 3)
        moment = tension * p
        curve = curl(s) + moment / flat(s)
        f = np.array([0.0, 0.0, 1.0])
        along, across = -tension * np.cos(psi), tension * np.sin(psi)
        return np.concatenate([
            v,
            curve * turn - softer * (a + moment * turn) / sideways(s),
            softer * (c + moment * v) / (0.3 * flat(s)) - curve * v,
            -curve * c - v * along + f,
            curve * a + v * across,
        ])

    start = np.zeros((5, 3))
    start[3, 0] = start[4, 1] = 1.0
    end = solve_ivp(slopes, (0.0, length), start.ravel(), method="DOP853", rtol=1e-8, atol=1e-10).y[:, -1].reshape(5, 3)
    return np.linalg.det(np.array([end[3], end[4], np.array([0.0, 0.0, 1.0]) + tension / string * end[0]]))


tried = 0.4 * 1.25 ** np.arange(14)
signs = [held(one) for one in tried]
k = next(k for k in range(13) if signs[k] * signs[k + 1] < 0.0)
print(brentq(held, tried[k], tried[k + 1], rtol=1e-6))
