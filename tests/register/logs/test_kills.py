"""A kill amid an import leaves all of it or nothing; tests/campaigns/logger_kills.py tries it at length."""

from tests.campaigns.logger_kills import run


def test_five_kills_leave_each_import_whole_or_not_there():
    found = run(seed=6, n=5)
    assert found["held"], found
    assert found["imports"] > 0
