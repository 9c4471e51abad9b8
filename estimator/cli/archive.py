"""``battenbook archive``: its verbs, those that file, and those that read and prove."""

from estimator.cli import archive_filing, archive_reading

VERBS = {**archive_filing.VERBS, **archive_reading.VERBS}
