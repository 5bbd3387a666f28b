"""What a record rests on, attached to it: the documents go into the PDF as files, and come out again as they were."""

from __future__ import annotations

import io
from collections.abc import Mapping

from pyhanko.pdf_utils import embed, generic
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.pdf_utils.writer import BasePdfFileWriter

SPECIFICATION, RESULT, ROWS = "specification.json", "result.json", "rows.json"
DESCRIPTIONS = {
    SPECIFICATION: "The specification of the piece, as it was accepted",
    RESULT: "The result of the checks that this record tells of",
    ROWS: "The rows of the shop's book behind this record, with their hashes",
}
MOST_FILES = 10


class NoEvidence(Exception):
    """The PDF carries no such files; the message says what is missing."""


def attach(writer: BasePdfFileWriter, files: Mapping[str, bytes]) -> None:
    """Embed each file under its name."""
    for name, data in sorted(files.items()):  # a tree of names is kept in their order
        embedded = embed.EmbeddedFileObject.from_file_data(
            writer,
            data=data,
            mime_type="application/json",
        )
        spec = embed.FileSpec(
            file_spec_string=name,
            file_name=name,
            embedded_data=embedded,
            description=DESCRIPTIONS.get(name),
            af_relationship=generic.pdf_name("/Source"),
        )
        embed.embed_file(writer, spec)


def attached(pdf: bytes) -> dict[str, bytes]:
    """The files in the PDF by name, as they were in the file's first signed state. Raises NoEvidence."""
    try:
        reader = PdfFileReader(io.BytesIO(pdf), strict=False)
        signatures = reader.embedded_regular_signatures
        source = reader
        if signatures:  # what was added after the first signature does not count
            source = reader.get_historical_resolver(signatures[0].signed_revision)
        names = source.root["/Names"]["/EmbeddedFiles"]["/Names"]
        found = {}
        for i in range(0, min(len(names), 2 * MOST_FILES), 2):
            spec = names[i + 1].get_object() if hasattr(names[i + 1], "get_object") else names[i + 1]
            found[str(names[i])] = bytes(spec["/EF"]["/F"].data)
        return found
    except (KeyError, TypeError, AttributeError, ValueError, IndexError) as exc:
        raise NoEvidence("This PDF carries no specification and no result, so there is nothing to run again.") from exc
