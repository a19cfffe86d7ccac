"""Closed-form formulas for parallel conductors, their screens, plates and pipes; NumPy and SciPy only.

Each module holds one idea; import the module that is needed. Source, unit and stated range stand above each formula;
`studies.formulas.formula.all_formulas` lists them.
"""
