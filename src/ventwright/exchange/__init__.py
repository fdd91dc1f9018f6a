"""Files people write: their text, line numbers in problems, and canonical JSON of the record.

House and visit files in TOML, readings in CSV, both read with the parser of `house`; the record
written back as TOML and as canonical JSON; the JSON Schemas of what may be typed; bundles.
"""

from ventwright.exchange.bundle import (
    BUNDLE_SCHEMA,
    Bundle,
    BundleWriter,
    FilePart,
    Manifest,
    SeriesPart,
    open_bundle,
)
from ventwright.exchange.canonical import (
    canonical_json,
    digest,
)
from ventwright.exchange.canonical_reading import (
    from_json,
)
from ventwright.exchange.files import (
    read_house,
    read_toml,
    read_visit,
)
from ventwright.exchange.logs import (
    LOG_KEYS,
    LogSample,
    ProbeSamples,
    read_log,
)
from ventwright.exchange.schemas import (
    json_schemas,
)
from ventwright.exchange.toml_text import (
    write_house,
    write_visit,
)

__all__ = [
    "BUNDLE_SCHEMA",
    "LOG_KEYS",
    "Bundle",
    "BundleWriter",
    "FilePart",
    "LogSample",
    "Manifest",
    "ProbeSamples",
    "SeriesPart",
    "canonical_json",
    "digest",
    "from_json",
    "json_schemas",
    "open_bundle",
    "read_house",
    "read_log",
    "read_toml",
    "read_visit",
    "write_house",
    "write_visit",
]
