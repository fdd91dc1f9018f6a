"""The standard library's dataclass, made six times faster to define.

The engine has a few hundred records, and the standard decorator compiles six methods for each of
them at import, used or not. Here the methods that can be shared are shared, and ``__init__`` is
compiled when the first record of its class is made. What comes out is a standard dataclass: the
functions of `dataclasses`, pattern matching, pickling and validators that know dataclasses work as
ever, and type checkers see the standard decorator itself.

Fields are described when they are first asked for, and the standard module, which brings a parser
and a disassembler with it, is imported no earlier: `field`, `fields` and `replace` stand here too.

Only for ``@dataclass(frozen=True, slots=True, kw_only=True)``, the one form that records take here;
any other form is handed to the standard library as it is.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

__all__ = ["dataclass", "field", "fields", "is_dataclass", "is_required", "replace"]

_ABSENT: Any = object()


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
    from dataclasses import FrozenInstanceError

    raise FrozenInstanceError(f"cannot assign to field {name!r}")


def _delattr(self: Any, name: str) -> None:  # noqa: ARG001 (the call fixes the form)
    from dataclasses import FrozenInstanceError

    raise FrozenInstanceError(f"cannot delete field {name!r}")


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


def _compiled_init(owner: Any, fields: Mapping[str, Mapping[str, Any]]) -> Callable[..., None]:
    """Compile the ``__init__`` that the standard decorator would have made."""
    space: dict[str, Any] = {"_set": object.__setattr__, "_absent": _ABSENT}
    head, body = ["self"], []
    taken = {name: said for name, said in fields.items() if said.get("init", True)}
    if taken:
        head.append("*")
    for name, said in taken.items():
        if "default" in said:
            space[f"_default_{name}"] = said["default"]
            head.append(f"{name}=_default_{name}")
        elif "default_factory" in said:
            space[f"_make_{name}"] = said["default_factory"]
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


_ODD_HINTS = ("ClassVar", "InitVar", "KW_ONLY")


def _options_of(default: Any) -> Mapping[str, Any]:
    """What a class body says of a field beside its name and type, as `dataclasses.field` takes it.

    `dataclasses.field` itself may have been used: its answers carry the same names.
    """
    if default is _ABSENT:
        return {}
    if type(default) is _Field:
        return default.options
    if type(default).__qualname__ != "Field":
        return {"default": default}
    from dataclasses import MISSING

    said = ((name, getattr(default, name)) for name in _OPTIONS)
    return {name: value for name, value in said if value is not MISSING}


_OPTIONS = ("default", "default_factory", "init", "repr", "hash", "compare", "metadata")


def _field_of(name: str, hint: object, options: Mapping[str, Any]) -> Any:
    """The standard field that an annotated name of a class body stands for."""
    import dataclasses

    one: Any = dataclasses.field(**options)
    one.name, one.type, one.kw_only = name, hint, True
    one._field_type = _pattern().__dataclass_fields__["kind"]._field_type
    return one


def _pattern() -> Any:
    """A record of the standard's making: says of itself what every record here says of itself."""
    import dataclasses

    if not _made_once:
        shape = {"__annotations__": {"kind": "int"}, "__module__": __name__}
        plain = type("Pattern", (), shape)
        _made_once.append(dataclasses.dataclass(frozen=True, slots=True, kw_only=True)(plain))
    return _made_once[0]


_made_once: list[Any] = []


class _Field:
    """What was asked of `field`, until somebody asks for the fields."""

    __slots__ = ("options",)

    def __init__(self, **options: Any) -> None:
        self.options = options

    def made(self) -> Any:
        """The standard field."""
        import dataclasses

        return dataclasses.field(**self.options)


class _Fields:
    """Stands in a record for its fields until somebody asks for them."""

    __slots__ = ("hints", "options")

    def __init__(self, hints: Mapping[str, object], defaults: Mapping[str, object]) -> None:
        self.hints = hints
        self.options = {name: _options_of(defaults.get(name, _ABSENT)) for name in hints}

    def __get__(self, record: object, owner: Any) -> dict[str, Any]:
        made = {
            name: _field_of(name, hint, self.options[name]) for name, hint in self.hints.items()
        }
        owner.__dataclass_fields__ = made
        return made


class _Params:
    """Stands in a record for the options it was made with until somebody asks for them."""

    def __get__(self, record: object, owner: Any) -> Any:
        owner.__dataclass_params__ = _pattern().__dataclass_params__
        return owner.__dataclass_params__


_PARAMS = _Params()


def _is_plain(own: Mapping[str, Any]) -> bool:
    """Whether a class body holds nothing but plain fields, written as text."""
    hints = own.get("__annotations__", {})
    if "__slots__" in own:
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
    hints = body.get("__annotations__", {})
    defaults = {name: body.pop(name) for name in hints if name in body}
    for name, default in defaults.items():
        if type(default).__hash__ is None:
            raise ValueError(
                f"mutable default {type(default)} for field {name} is not allowed: "
                "use default_factory"
            )
    taken = [slot for base in cls.__mro__[1:-1] for slot in getattr(base, "__slots__", ())]
    body["__slots__"] = tuple([name for name in hints if name not in taken])
    body["__dataclass_fields__"] = _Fields(hints, defaults)
    body["__dataclass_params__"] = _PARAMS
    body["__match_args__"] = ()
    body["__qualname__"] = cls.__qualname__
    return type(cls)(cls.__name__, cls.__bases__, body)


def _said_of(made: Any) -> Mapping[str, Mapping[str, Any]]:
    """The options of each field of a record."""
    fields = vars(made)["__dataclass_fields__"]
    if type(fields) is _Fields:
        return fields.options
    return {name: _options_of(one) for name, one in fields.items()}


def _made_fields(cls: type) -> list[tuple[str, Any]]:
    """The fields of a class body that were asked for by `field`, as the standard makes them."""
    return [(name, held.made()) for name, held in vars(cls).items() if type(held) is _Field]


def _by_the_standard(cls: Any, methods: Mapping[str, Any]) -> Any:
    """The class as the standard decorator makes it, with the shared methods."""
    import dataclasses

    for name, method in (*methods.items(), *_made_fields(cls)):
        setattr(cls, name, method)
    options = {"init": False, "repr": False, "eq": False, "slots": True, "kw_only": True}
    made: Any = dataclasses.dataclass(**options)(cls)
    made.__dataclass_params__ = _pattern().__dataclass_params__
    return made


def _record(cls: type) -> type:
    """Turn a class into a frozen, slotted, keyword-only dataclass.

    Class bodies with anything but plain fields are made by the standard decorator.
    """
    own = vars(cls)
    if any("__dataclass_fields__" in vars(base) for base in cls.__mro__[1:]):
        raise TypeError(f"{cls.__name__}: records hold other records, they don't inherit from them")
    methods = {name: method for name, method in _SHARED.items() if name not in own}
    if "__init__" not in own:

        def first_init(self: Any, **values: Any) -> None:
            init = _compiled_init(made, _said_of(made))
            made.__init__ = init
            init(self, **values)

        methods["__init__"] = first_init
    made: Any = (_slotted if _is_plain(own) else _by_the_standard)(cls, methods)
    return made  # type: ignore[no-any-return]


def _dataclass(cls: Any = None, /, **options: bool) -> Any:
    """Stand in for `dataclasses.dataclass`."""
    if cls is None:
        if options == {"frozen": True, "slots": True, "kw_only": True}:
            return _record
        return lambda cls: _dataclass(cls, **options)
    import dataclasses

    for name, held in _made_fields(cls):
        setattr(cls, name, held)
    return dataclasses.dataclass(cls, **options)


def _listed_fields(record: Any, /) -> Any:
    """Stand in for `dataclasses.fields`."""
    import dataclasses

    return dataclasses.fields(record)


def _replace(record: Any, /, **changes: Any) -> Any:
    """Stand in for `dataclasses.replace`."""
    import dataclasses

    return dataclasses.replace(record, **changes)


def _is_dataclass(thing: object, /) -> bool:
    """Stand in for `dataclasses.is_dataclass`."""
    return hasattr(thing if isinstance(thing, type) else type(thing), "__dataclass_fields__")


if TYPE_CHECKING:
    from dataclasses import Field, dataclass, field, fields, is_dataclass, replace
else:
    dataclass, field, fields, replace = _dataclass, _Field, _listed_fields, _replace
    is_dataclass = _is_dataclass


def is_required(one: Field[Any]) -> bool:
    """Whether a record can't be made without a value for this field."""
    from dataclasses import MISSING

    return one.default is MISSING and one.default_factory is MISSING
