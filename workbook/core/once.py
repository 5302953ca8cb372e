"""A property worked out once, as `functools.cached_property` is, without a lock.

Until Python 3.12 that one takes a lock at each first call. The marks of one trial ask for dozens
of such properties, in one thread, and the locks cost as much as what is worked out.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Generic, TypeVar, overload

T = TypeVar("T")


class once(Generic[T]):  # noqa: N801  (a decorator, named as the one it stands in for)
    """Keep what a method finds in its object's ``__dict__``, where the next look meets it first."""

    def __init__(self, find: Callable[[Any], T]) -> None:
        self._find = find
        self.__doc__ = find.__doc__

    def __set_name__(self, owner: type, name: str) -> None:
        self._name = name

    @overload
    def __get__(self, made: None, owner: type) -> once[T]: ...

    @overload
    def __get__(self, made: object, owner: type) -> T: ...

    def __get__(self, made: object | None, owner: type) -> once[T] | T:
        if made is None:
            return self
        found: T = self._find(made)
        made.__dict__[self._name] = found
        return found
