"""Every benchmark, one after the other: `python -m tests.benchmarks`."""

from tests.benchmarks import observing, reading, scoring, workbook

for benchmark in (reading, scoring, workbook, observing):
    benchmark.main()
