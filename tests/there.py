"""A value that a test knows to be there, for the checker of types."""

from __future__ import annotations

from typing import TypeVar

Value = TypeVar("Value")


def there(value: Value | None) -> Value:
    """Return a value that must not be None."""
    assert value is not None
    return value
