"""Reads one PDF from standard input, and tells in lines of JSON whether it is a plain one, and the words of its pages.

Run as a program of its own, by looking.py: whatever a file does to its reader, it does it here, with little memory,
little time, no right to write a file, and nothing of the room within reach. It knows pypdf and the standard library
only. The first line: {"refused": why} or {"pages": how many}. Then a line for each page: {"page": n, "text": words}.
"""

import base64
import json
import sys
import time
import zlib
from contextlib import suppress
from io import BytesIO
from typing import Any

#: Dictionary keys, kinds of action and kinds of piece that no sheet needs, and what each is.
KEYS = {
    "/JS": "script",
    "/JavaScript": "script",
    "/AA": "opens",
    "/EF": "embedded",
    "/EmbeddedFiles": "embedded",
    "/AF": "embedded",
    "/Collection": "embedded",
    "/XFA": "xfa",
    "/RichMediaContent": "media",
    "/RichMediaSettings": "media",
}
ACTIONS = {
    "/JavaScript": "script",
    "/Launch": "launch",
    "/GoToR": "launch",
    "/GoToE": "launch",
    "/Thread": "launch",
    "/ImportData": "sends",
    "/SubmitForm": "sends",
    "/Rendition": "media",
    "/Movie": "media",
    "/Sound": "media",
    "/GoTo3DView": "media",
    "/RichMediaExecute": "media",
}
SUBTYPES = {
    "/RichMedia": "media",
    "/Movie": "media",
    "/Sound": "media",
    "/Screen": "media",
    "/3D": "media",
    "/FileAttachment": "embedded",
}
TYPES = {"/EmbeddedFile": "embedded", "/Rendition": "media"}
#: Packings whose content is a picture, which is not unpacked here.
PICTURES = {"/DCTDecode", "/DCT", "/JPXDecode", "/CCITTFaxDecode", "/CCF", "/JBIG2Decode"}


class Refused(Exception):
    pass


def bound(memory: int, seconds: int) -> None:
    """Let the system stop this process where it takes too much, and let it write nothing."""
    try:
        import resource
    except ImportError:  # not on every system; the clock of the one who waits still bounds it
        return
    for what, most in ((resource.RLIMIT_AS, memory), (resource.RLIMIT_CPU, seconds), (resource.RLIMIT_FSIZE, 0)):
        with suppress(ValueError, OSError):  # lower already
            resource.setrlimit(what, (most, most))


class Look:
    """One look through all that a PDF is made of. caps: see looking.py."""

    def __init__(self, content: bytes, caps: dict[str, int]) -> None:
        import pypdf
        from pypdf import filters

        most = caps["unpacked"]
        pypdf.overwrite_configuration(
            array_based_stream_maximum_output_length=most,
            lzw_maximum_output_length=most,
            run_length_maximum_output_length=most,
            zlib_maximum_output_length=most,
            zlib_maximum_recovery_input_length=0,
            image_maximum_buffer_size=most,
            stream_decoding_work_maximum_length=caps["all_unpacked"],
            stream_filters_maximum_length=caps["packings"],
            jbig2dec_binary=None,  # no program is started for a picture
        )
        self.caps, self.filters = caps, filters
        self.unpacked = self.pieces = 0
        self.reader = pypdf.PdfReader(
            BytesIO(content), strict=True, root_object_recovery_limit=0, xref_stream_maximum_entries=caps["objects"]
        )

    def through(self) -> int:
        """Look at every object; give the number of pages. Refused for what is not taken."""
        reader = self.reader
        if "/Encrypt" in reader.trailer:
            raise Refused("encrypted")
        try:
            root = reader.root_object
        except Exception as lost:
            raise Refused("broken") from lost
        numbers = {(number, gen) for gen, table in reader.xref.items() for number in table}
        numbers |= {(number, 0) for number in reader.xref_objStm}
        if len(numbers) > self.caps["objects"]:
            raise Refused("objects")
        self._piece(reader.trailer)
        for number, generation in sorted(numbers):
            if reader.xref_free_entry.get(generation, {}).get(number):
                continue
            self._piece(reader.get_object(_reference(number, generation, reader)))
        self._opening(root)
        pages = len(reader.pages)
        if not pages:
            raise Refused("empty")
        return pages

    def _piece(self, whole: Any) -> None:
        """One object with all that stands directly in it; what it only points to is looked at in its turn."""
        from pypdf.generic import ArrayObject, DictionaryObject, StreamObject

        waiting = [(whole, 0)]
        while waiting:
            one, depth = waiting.pop()
            self.pieces += 1
            if self.pieces > self.caps["pieces"]:
                raise Refused("objects")
            if depth > 100:
                raise Refused("layers")
            if isinstance(one, DictionaryObject):
                self._keys(one)
                waiting += [(value, depth + 1) for value in one.values()]
                if isinstance(one, StreamObject):
                    self._stream(one)
            elif isinstance(one, ArrayObject):
                waiting += [(value, depth + 1) for value in list.__iter__(one)]

    def _keys(self, one: Any) -> None:
        for key in one:
            if key in KEYS:
                raise Refused(KEYS[key])
        for key, table in (("/S", ACTIONS), ("/Subtype", SUBTYPES), ("/Type", TYPES)):
            if (kind := str(_of(one, key))) in table:
                raise Refused(table[kind])
        if _of(one, "/Subtype") == "/Image":
            pixels = _number(_of(one, "/Width")) * _number(_of(one, "/Height"))
            if pixels > self.caps["pixels"]:
                raise Refused("picture")

    def _opening(self, root: Any) -> None:
        """Which page is shown first may be said; nothing else happens on opening."""
        from pypdf.generic import DictionaryObject

        does = _of(root, "/OpenAction")
        if isinstance(does, DictionaryObject) and (_of(does, "/S") != "/GoTo" or "/Next" in does):
            raise Refused("opens")

    def _stream(self, stream: Any) -> None:
        """How much it unpacks to, packing by packing, each bounded before it is done."""
        said = _of(stream, "/Filter")
        packings = [] if said is None else [str(one) for one in (list(said) if isinstance(said, list) else [said])]
        if "/F" in stream:  # its content is in another file
            raise Refused("embedded")
        if len(packings) > self.caps["packings"]:
            raise Refused("layers")
        content = stream._data if isinstance(stream._data, bytes) else bytes(stream._data)
        for packing in packings:
            if packing in PICTURES:
                break
            content = self._unpack(packing, content)
            self.unpacked += len(content)
            if self.unpacked > self.caps["all_unpacked"]:
                raise Refused("bomb")

    def _unpack(self, packing: str, content: bytes) -> bytes:
        most = self.caps["unpacked"]
        if packing in ("/FlateDecode", "/Fl"):
            unpacker = zlib.decompressobj()
            try:
                made = unpacker.decompress(content, most + 1)
            except zlib.error as wrong:
                raise Refused("broken") from wrong
        elif packing in ("/ASCIIHexDecode", "/AHx"):
            digits = bytes(content.partition(b">")[0].translate(None, b" \t\r\n\x0c\x00"))
            made = bytes.fromhex((digits + b"0" * (len(digits) % 2)).decode("ascii"))
        elif packing in ("/ASCII85Decode", "/A85"):
            made = base64.a85decode(
                content.strip().removeprefix(b"<~").partition(b"~>")[0], ignorechars=b" \t\n\r\v\x00"
            )
        elif packing in ("/LZWDecode", "/LZW"):
            made = self.filters.LZWDecode.decode(content)
        elif packing in ("/RunLengthDecode", "/RL"):
            made = self.filters.RunLengthDecode.decode(content)
        elif packing == "/Crypt":
            raise Refused("encrypted")
        else:
            raise Refused("broken")
        if len(made) > most:
            raise Refused("bomb")
        return made

    def words(self, page: int) -> str:
        try:
            return self.reader.pages[page].extract_text()[: self.caps["letters"]]
        except Exception:  # its words can be missing
            return ""


def _reference(number: int, generation: int, reader: Any) -> Any:
    from pypdf.generic import IndirectObject

    return IndirectObject(number, generation, reader)


def _of(one: Any, key: str) -> Any:
    """What a dictionary holds under a key, also where it only points to it; None for nothing."""
    found = one.get(key)
    return found.get_object() if hasattr(found, "get_object") else found


def _number(value: Any) -> int:
    try:
        return abs(int(value))
    except (TypeError, ValueError):
        return 0


def tell(**what: Any) -> None:
    sys.stdout.write(json.dumps(what) + "\n")
    sys.stdout.flush()


def main(caps: dict[str, int]) -> None:
    bound(caps["memory"], caps["seconds"])
    began = time.monotonic()
    content = sys.stdin.buffer.read()
    sys.setrecursionlimit(2000)
    try:
        look = Look(content, caps)
        pages = look.through()
    except Refused as no:
        return tell(refused=str(no))
    except MemoryError:
        return tell(refused="bomb")
    except Exception as broken:  # whatever a file can do to its reader
        return tell(refused="bomb" if type(broken).__name__ == "LimitReachedError" else "broken")
    tell(pages=pages)
    if pages > caps["pages"]:
        return None
    for page in range(pages):
        if time.monotonic() - began > caps["seconds"] / 2:
            return None
        tell(page=page + 1, text=look.words(page))
    return None


if __name__ == "__main__":
    main(json.loads(sys.argv[1]))
