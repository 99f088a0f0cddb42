"""Measurements of the goals of speed and size, each a ratio of two sides taken in turns in one run; Linux only.

``python -m tests.benchmarks`` measures all, ``python -m tests.benchmarks S1 S8`` some. Times hold for one machine on
one day; the ratios carry over. Nothing is imported here, because the smallest application that is measured is here too.
"""
