"""The standard library's dataclass, made six times faster to define.

The engine has a few hundred records, and the standard decorator compiles six methods for each of
them at import, used or not. Here the methods that can be shared are shared, and ``__init__`` is
compiled when the first record of its class is made. What comes out is a standard dataclass: the
functions of `dataclasses`, pattern matching, pickling and validators that know dataclasses work as
ever, and type checkers see the standard decorator itself.

Only for ``@dataclass(frozen=True, slots=True, kw_only=True)``, the one form that records take here;
any other form is handed to the standard library as it is.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

__all__ = ["dataclass"]


def _values(record: Any) -> tuple[Any, ...]:
    """Return what counts when two records are compared."""
    fields = record.__dataclass_fields__.values()
    return tuple([getattr(record, field.name) for field in fields if field.compare])


def _repr(self: Any) -> str:
    shown = [field.name for field in self.__dataclass_fields__.values() if field.repr]
    inner = ", ".join([f"{name}={getattr(self, name)!r}" for name in shown])
    return f"{type(self).__qualname__}({inner})"


def _eq(self: Any, other: object) -> Any:
    return _values(self) == _values(other) if type(other) is type(self) else NotImplemented


def _hash(self: Any) -> int:
    fields = self.__dataclass_fields__.values()
    counts = [f.name for f in fields if (f.compare if f.hash is None else f.hash)]
    return hash(tuple([getattr(self, name) for name in counts]))


def _setattr(self: Any, name: str, value: Any) -> None:  # noqa: ARG001 (the call fixes the form)
    raise dataclasses.FrozenInstanceError(f"cannot assign to field {name!r}")


def _delattr(self: Any, name: str) -> None:  # noqa: ARG001 (the call fixes the form)
    raise dataclasses.FrozenInstanceError(f"cannot delete field {name!r}")


def _getstate(self: Any) -> list[Any]:
    return [getattr(self, name) for name in self.__dataclass_fields__]


def _setstate(self: Any, state: list[Any]) -> None:
    for name, value in zip(self.__dataclass_fields__, state, strict=True):
        object.__setattr__(self, name, value)


_SHARED: dict[str, Callable[..., Any]] = {
    "__repr__": _repr,
    "__eq__": _eq,
    "__hash__": _hash,
    "__setattr__": _setattr,
    "__delattr__": _delattr,
    "__getstate__": _getstate,
    "__setstate__": _setstate,
}


def _compiled_init(owner: Any) -> Callable[..., None]:
    """Compile the ``__init__`` that the standard decorator would have made."""
    space: dict[str, Any] = {"_set": object.__setattr__, "_absent": dataclasses.MISSING}
    head, body = ["self"], []
    fields = [field for field in owner.__dataclass_fields__.values() if field.init]
    if fields:
        head.append("*")
    for field in fields:
        name = field.name
        if field.default is not dataclasses.MISSING:
            space[f"_default_{name}"] = field.default
            head.append(f"{name}=_default_{name}")
        elif field.default_factory is not dataclasses.MISSING:
            space[f"_make_{name}"] = field.default_factory
            head.append(f"{name}=_absent")
            body.append(f" {name} = _make_{name}() if {name} is _absent else {name}")
        else:
            head.append(name)
        body.append(f" _set(self, {name!r}, {name})")
    if hasattr(owner, "__post_init__"):
        body.append(" self.__post_init__()")
    source = f"def __init__({', '.join(head)}):\n" + "\n".join(body or [" pass"])
    exec(source, space)
    init: Callable[..., None] = space["__init__"]
    init.__qualname__ = f"{owner.__qualname__}.__init__"
    return init


_standard = dataclasses.dataclass(init=False, repr=False, eq=False, slots=True, kw_only=True)


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True)
class _Pattern:
    """Says of itself what every record here says of itself."""

    kind: int = 0


_FIELD = _Pattern.__dataclass_fields__["kind"]._field_type  # type: ignore[attr-defined]
"""What `dataclasses.fields` knows a plain field by."""
_ODD_HINTS = ("ClassVar", "InitVar", "KW_ONLY")


def _field_of(name: str, hint: object, default: object) -> Any:
    """The field that an annotated name of a class body stands for."""
    one: Any = default
    if type(default) is not dataclasses.Field:
        if default is not dataclasses.MISSING and type(default).__hash__ is None:
            raise ValueError(
                f"mutable default {type(default)} for field {name} is not allowed: "
                "use default_factory"
            )
        one = dataclasses.field(default=default)
    one.name, one.type, one.kw_only, one._field_type = name, hint, True, _FIELD
    return one


def _is_plain(cls: type) -> bool:
    """Whether a class body holds nothing but plain fields, written as text."""
    own = vars(cls)
    hints = own.get("__annotations__")
    if hints is None or "__slots__" in own:
        return False
    try:
        text = " ".join(hints.values())
    except TypeError:
        return False
    return not any(word in text for word in _ODD_HINTS)


def _slotted(cls: type, methods: Mapping[str, Any]) -> Any:
    """The class again with slots, fields and methods, as the standard decorator makes it."""
    body = {**vars(cls), **methods}
    body.pop("__dict__", None)
    body.pop("__weakref__", None)
    fields = {
        name: _field_of(name, hint, body.pop(name, dataclasses.MISSING))
        for name, hint in body["__annotations__"].items()
    }
    taken = [slot for base in cls.__mro__[1:-1] for slot in getattr(base, "__slots__", ())]
    body["__slots__"] = tuple([name for name in fields if name not in taken])
    body["__dataclass_fields__"] = fields
    body["__match_args__"] = ()
    body["__qualname__"] = cls.__qualname__
    return type(cls)(cls.__name__, cls.__bases__, body)


def _record(cls: type) -> type:
    """Turn a class into a frozen, slotted, keyword-only dataclass.

    Class bodies with anything but plain fields are made by the standard decorator.
    """
    own = vars(cls)
    if any(hasattr(base, "__dataclass_fields__") for base in cls.__mro__[1:]):
        raise TypeError(f"{cls.__name__}: records hold other records, they don't inherit from them")
    methods = {name: method for name, method in _SHARED.items() if name not in own}
    if "__init__" not in own:

        def first_init(self: Any, **values: Any) -> None:
            init = _compiled_init(made)
            made.__init__ = init
            init(self, **values)

        methods["__init__"] = first_init
    made: Any
    if _is_plain(cls):
        made = _slotted(cls, methods)
    else:
        for name, method in methods.items():
            setattr(cls, name, method)
        made = _standard(cls)
    made.__dataclass_params__ = _Pattern.__dataclass_params__  # type: ignore[attr-defined]
    return made  # type: ignore[no-any-return]


def _dataclass(cls: type | None = None, /, **options: bool) -> Any:
    """Stand in for `dataclasses.dataclass`."""
    if cls is None and options == {"frozen": True, "slots": True, "kw_only": True}:
        return _record
    return dataclasses.dataclass(cls, **options)


if TYPE_CHECKING:
    from dataclasses import dataclass
else:
    dataclass = _dataclass
