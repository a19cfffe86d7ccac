"""Constants of the vacuum. They stand here because the module of SciPy that has them takes 0.1 s to import."""

mu_0 = 1.25663706127e-06
"""Magnetic constant, CODATA 2022. [H/m]"""
epsilon_0 = 8.8541878188e-12
"""Electric constant, CODATA 2022. [F/m]"""
