"""Every benchmark, one after the other: `python -m tests.benchmarks`."""

from tests.benchmarks import observing, scoring, workbook

for benchmark in (scoring, workbook, observing):
    benchmark.main()
