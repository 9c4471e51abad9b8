"""``battenbook archive``: its verbs, those that file, those that read and those that prove."""

from estimator.cli import archive_filing, archive_proving, archive_reading

VERBS = {**archive_filing.VERBS, **archive_reading.VERBS, **archive_proving.VERBS}
