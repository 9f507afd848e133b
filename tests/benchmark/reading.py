"""The reference of the benchmark `reading`: release rate and temperatures of one log by SciPy.

One JSON log on the first line; then, for every further line, does the work as often as it says and
answers the seconds of each time. Answers the rate once, first, for the comparison.
"""

import json
import sys
import time

import numpy as np
from scipy.integrate import cumulative_trapezoid
from scipy.signal import savgol_coeffs, savgol_filter

WINDOWS = (15, 21, 31, 41, 61)


def saturation_pa(celsius):
    """Hyland and Wexler (1983) as in ASHRAE Handbook Fundamentals 2017, chapter 1, equation 6."""
    k = celsius + 273.15
    poly = 1.3914993 + k * (-4.8640239e-2 + k * (4.1764768e-5 + k * -1.4452093e-8))
    return np.exp(-5.8002206e3 / k + poly + 6.5459673 * np.log(k))


def lag_gain(lag, points):
    value = savgol_coeffs(points, 3, use="dot")
    slope = savgol_coeffs(points, 3, deriv=1, use="dot")
    return np.linalg.norm(value + lag * slope)


def read(log):
    pressure, lag = log["pressurePa"], log["sensorLagS"]
    vapour = log["humidityRhPct"] / 100 * saturation_pa(log["sensorC"])
    ratio = 1000 * 0.621945 * vapour / (pressure - vapour)
    room = ratio[log["timeS"] <= log["timeS"][0] + 6].mean()
    shown = ratio - room
    third = shown[3:] - 3 * shown[2:-1] + 3 * shown[1:-2] - shown[:-3]
    noise = np.abs(third).mean() * np.sqrt(np.pi / 2) / np.sqrt(20)
    quiet = [p for p in WINDOWS if noise * lag_gain(lag, p) <= 0.02 * shown.max()]
    points = quiet[0] if quiet else WINDOWS[-1]
    rate = savgol_filter(shown, points, 3) + lag * savgol_filter(shown, points, 3, deriv=1)
    rate *= log["airFlowGS"] / 1000
    absolute = 1000 * vapour / (461.526 * (log["sensorC"] + 273.15))
    bean = savgol_filter(log["beanC"], 21, 2)
    released = cumulative_trapezoid(rate, log["timeS"], initial=0)
    return rate, absolute, bean, released


log = json.loads(sys.stdin.readline())
log = {name: np.array(v) if isinstance(v, list) else v for name, v in log.items()}
print(json.dumps(read(log)[0].tolist()), flush=True)
for line in sys.stdin:
    seconds = []
    for _ in range(int(line)):
        started = time.perf_counter()
        read(log)
        seconds.append(time.perf_counter() - started)
    print(json.dumps(seconds), flush=True)
