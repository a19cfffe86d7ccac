"""Types of arrays; the comment or docstring beside each array gives its shape and unit."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]
