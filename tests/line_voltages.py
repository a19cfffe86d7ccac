"""The unbalance V2/V1 from the magnitudes of three line voltages alone: an independent check of that from phasors."""

import numpy as np


def line_voltage_unbalance(line_voltages):
    """sqrt((1 - q)/(1 + q)), q = sqrt(3 - 6 beta), beta = sum U^4/(sum U^2)^2; exact, as line voltages sum to zero."""
    u = np.asarray(line_voltages, dtype=float)
    beta = np.sum(u**4) / np.sum(u**2) ** 2
    if beta > 0.5 * (1 + 1e-12):
        raise ValueError(f"line_voltages close no triangle: {u}")
    q = np.sqrt(np.clip(3 - 6 * beta, 0.0, 1.0))
    return np.sqrt((1 - q) / (1 + q))
