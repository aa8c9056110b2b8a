"""Every published value of the registry, and the page that shows them."""

import math

import pytest

from tests.verification import published
from tests.verification.record import Section


@pytest.mark.parametrize("record", published.RECORDS, ids=lambda record: record.name)
def test_ours_is_the_printed_value(record):
    assert record.ours() == pytest.approx(record.printed, rel=0.0, abs=record.within)


def test_registry_is_whole():
    """At least 80 values, some in every section, none twice, each with a tolerance that can fail: a tenth at most of
    the value, 1.5 K of a temperature."""
    assert len(published.RECORDS) >= 80
    assert {record.section for record in published.RECORDS} == set(Section)
    names = [record.name for record in published.RECORDS]
    assert len(set(names)) == len(names)
    for record in published.RECORDS:
        assert record.source and record.unit and record.within > 0.0 and math.isfinite(record.printed)
        assert record.within <= (1.5 if record.unit == "degC" else 0.1 * abs(record.printed)), record.name


def test_page_is_up_to_date():
    assert published.on_the_page() == published.text(), "run: python -m tests.verification.published --write"
