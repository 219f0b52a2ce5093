"""Published data sets that several tests share, as printed in their sources."""

from __future__ import annotations

import numpy as np

# Pressure gauge, 0-10 kPa up and down: E. O. Doebelin, Measurement Systems, chapter 3 (attribution from memory).
GAUGE_TRUE_KPA = np.arange(11.0)
GAUGE_UP_KPA = np.array([-1.12, 0.21, 1.18, 2.09, 3.33, 4.5, 5.26, 6.59, 7.73, 8.68, 9.8])
GAUGE_DOWN_KPA = np.array([-0.69, 0.42, 1.65, 2.48, 3.62, 4.71, 5.87, 6.89, 7.92, 9.1, 10.2])

# Small hysteresis loop, a course example.
LOOP_X_MV = np.arange(6.0)
LOOP_UP_MV = np.array([0.1, 1.1, 2.1, 3.0, 4.1, 5.0])
LOOP_DOWN_MV = np.array([0.2, 1.2, 2.2, 3.2, 4.2, 5.0])

# Pressure sensor: R. Kessel, R. Kacker, K.-D. Sommer, Uncertainty budget for range calibration, 2008, table 4.
SENSOR_PRESSURE = np.arange(0.0, 21.0, 2.0)
SENSOR_READING = np.array([0.0, 0.2039, 0.4080, 0.6120, 0.8160, 1.0201, 1.2242, 1.4283, 1.6325, 1.8367, 2.0410])

# NIST/ITL Statistical Reference Datasets, Norris (y, x).
NORRIS = np.array(
    [
        (0.1, 0.2), (338.8, 337.4), (118.1, 118.2), (888.0, 884.6), (9.2, 10.1), (228.1, 226.5),
        (668.5, 666.3), (998.5, 996.3), (449.1, 448.6), (778.9, 777.0), (559.2, 558.2), (0.3, 0.4),
        (0.1, 0.6), (778.1, 775.5), (668.8, 666.9), (339.3, 338.0), (448.9, 447.5), (10.8, 11.6),
        (557.7, 556.0), (228.3, 228.1), (998.0, 995.8), (888.8, 887.6), (119.6, 120.2), (0.3, 0.3),
        (0.6, 0.3), (557.6, 556.8), (339.3, 339.1), (888.0, 887.2), (998.5, 999.0), (778.9, 779.0),
        (10.2, 11.1), (117.6, 118.3), (228.9, 229.2), (668.4, 669.1), (449.2, 448.9), (0.2, 0.5),
    ]
)  # fmt: skip

# NIST/ITL Statistical Reference Datasets, NoInt1.
NOINT1_X = np.arange(60.0, 71.0)
NOINT1_Y = np.arange(130.0, 141.0)

# JCGM 100:2008 (GUM), table H.6: thermometer reading and observed correction [degC].
THERMOMETER_DEGC = np.array([21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511])
CORRECTION_DEGC = np.array([-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160])

# JCGM 100:2008 (GUM), table 1 (values from memory): twenty temperatures [degC].
TEMPERATURES_DEGC = np.array(
    [
        96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07,
        100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72,
    ]
)  # fmt: skip
