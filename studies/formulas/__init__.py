"""Closed-form formulas for parallel conductors, their screens, plates and pipes; NumPy and SciPy only.

Each module holds one idea; import the module that is needed. The register of all formulas, with source and stated
range of each, is in `studies.formulas.ranges`.
"""
