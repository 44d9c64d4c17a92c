"""Broken and mutated requests, each made from a number alone."""

import base64
import copy
import gzip
import json
import random
import struct
from collections.abc import Callable, Iterator, Mapping
from typing import Any, NamedTuple
from urllib.parse import quote, urlencode

NUMBERS = ["NaN", "Infinity", "-Infinity", "1e400", "-1e400", "1e308", "-1e308", "5e-324", "-0.0", "0", "-1", "1" * 400]
VALUES = [
    *NUMBERS,
    "null",
    "true",
    '""',
    '"\\ud800"',
    '"\\u0000"',
    "[]",
    "{}",
    '"12 ft 6 3/8 in"',
    '"9999999 LT"',
    "[[]]",
]
BOX = {"kind": "mesh_file", "length_bp_m": 10.0, "scale_ratio": 1.0}
CORNERS = [(x, y, z) for x in (0, 10) for y in (-2, 2) for z in (0, 3)]
FACES = [(0, 1, 3), (0, 3, 2), (4, 6, 7), (4, 7, 5), (0, 4, 5), (0, 5, 1), (2, 3, 7), (2, 7, 6), (0, 2, 6), (0, 6, 4)]
FACES += [(1, 5, 7), (1, 7, 3)]


class Sent(NamedTuple):
    """One request; ``stall`` means the body is announced longer than it is."""

    kind: str
    method: str
    path: str
    headers: dict[str, str]
    body: bytes
    stall: bool = False


def post(kind: str, path: str, body: bytes, **headers: str) -> Sent:
    """Return a POST of what claims to be JSON."""
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    return Sent(kind, "POST", path, {"Content-Type": "application/json", **named}, body)


class Mutants:
    """Makes requests from the examples of the service's own document."""

    def __init__(self, document: Mapping[str, Any]) -> None:
        self.examples: list[tuple[str, Any]] = []
        self.cells: list[tuple[str, dict[str, str]]] = []
        for path, item in document["paths"].items():
            if "post" in item:
                content = item["post"]["requestBody"]["content"]["application/json"]
                self.examples.append((path, content["example"]))
            if path.startswith("/v1/cells/"):
                parameters = item["get"]["parameters"]
                self.cells.append((path, {one["name"]: str(one["example"]) for one in parameters if "example" in one}))

    KINDS = ("raw", "flipped", "token", "token", "record", "record", "record", "mesh", "mesh", "gzip", "shape", "cell")

    def one(self, number: int) -> Sent:
        """Return the request of a number."""
        r = random.Random(number)
        if number % 500 == 499:
            path, example = r.choice(self.examples)
            text = json.dumps(example).encode()
            sent = post("slow", path, text[: r.randrange(len(text))], Content_Length=str(len(text)))
            return sent._replace(stall=True)
        make: Callable[[random.Random], Sent] = getattr(self, "_" + r.choice(self.KINDS))
        return make(r)

    def _raw(self, r: random.Random) -> Sent:
        return post("raw", r.choice(self.examples)[0], r.randbytes(r.randrange(2000)))

    def _flipped(self, r: random.Random) -> Sent:
        path, example = r.choice(self.examples)
        return post("flipped", path, _broken(r, json.dumps(example).encode()))

    def _token(self, r: random.Random) -> Sent:
        """One or a few values of an example become something a reader may choke on."""
        path, example = r.choice(self.examples)
        whole, marks = copy.deepcopy(example), {}
        for i in range(r.choice((1, 1, 1, 3))):
            holder, key = r.choice(list(_places(whole)))
            holder[key] = f"@mark{i}@"
            marks[f'"@mark{i}@"'] = r.choice(VALUES)
        text = json.dumps(whole)
        for mark, value in marks.items():
            text = text.replace(mark, value)
        return post("token", path, text.encode("utf-8", "surrogatepass"))

    def _record(self, r: random.Random) -> Sent:
        """A valid body, mutated but still JSON: drop, repeat, swap, scale, reorder."""
        path, example = r.choice(self.examples)
        whole = copy.deepcopy(example)
        for _ in range(r.choice((1, 1, 2, 4))):
            _mutate(r, whole)
        query = "?format=csv" if r.random() < 0.05 else ""
        return post("record", path + query, json.dumps(whole).encode())

    def _mesh(self, r: random.Random) -> Sent:
        kind = r.choice(("stl", "text stl", "obj", "ply", "off"))
        data = mesh_file(kind)
        if r.random() < 0.8:
            data = _broken(r, data)
        hull = {**BOX, "format": kind.split()[-1], "data_base64": base64.b64encode(data).decode()}
        if r.random() < 0.3:
            hull["symmetry"] = "half"
        if r.random() < 0.5:
            return post("mesh", "/v1/hulls/inspection", json.dumps({"hull": hull}).encode())
        planes = [{"draft_m": r.uniform(-1, 4), "heel_deg": r.uniform(-80, 80)} for _ in range(3)]
        body = {"hull": hull, "density_t_per_m3": 1.0, "waterplanes": planes}
        return post("mesh", "/v1/hydrostatics", json.dumps(body).encode())

    def _gzip(self, r: random.Random) -> Sent:
        path, example = r.choice(self.examples)
        packed = gzip.compress(json.dumps(example).encode(), 1)
        choice = r.randrange(5)
        if choice == 0:
            packed = BOMB
        elif choice == 1:
            packed = _broken(r, packed)
        elif choice == 2:
            packed += packed
        elif choice == 3:
            packed = gzip.compress(packed)
        return post("gzip", path, packed, Content_Encoding=r.choice(("gzip", "gzip", "gzip", "br", "gzip, gzip")))

    def _shape(self, r: random.Random) -> Sent:
        """JSON of a shape that costs a reader much: deep, wide, many names, a name twice, long texts."""
        path, example = r.choice(self.examples)
        depth = r.choice((150, 250, 100_000))
        name = next(iter(example))
        body = r.choice(
            (
                "[" * depth + "]" * depth,
                '{"a":' * depth + "1" + "}" * depth,
                json.dumps({f"n{i}": i for i in range(2000)}),
                json.dumps(example)[:-1] + f', "{name}": 1}}',
                json.dumps({**example, name: "x" * 1_000_000}),
                json.dumps({**example, name: [1.5] * 200_000}),
                json.dumps({**example, name: [{}] * 100_000}),
                " " * 1_000_000 + json.dumps(example),
            )
        )
        return post("shape", path, body.encode())

    def _cell(self, r: random.Random) -> Sent:
        path, example = r.choice(self.cells)
        query = dict(example)
        for _ in range(r.choice((1, 2))):
            name = r.choice([*query, "errors", "colour"])
            text = query.get(name, "1")
            query[name] = r.choice(
                (text + ";", "-" + text, text * 50, "1e300", "nan", "", "٣", "\x00", "1,5", "-80", "0")
            )
        how = "&errors=status" if r.random() < 0.5 and "errors" not in query else ""
        url = f"{path}?{urlencode(query, quote_via=quote)}{how}"
        return Sent("cell", r.choice(("GET", "GET", "HEAD")), url, {}, b"")


BOMB = gzip.compress(bytes(200_000_000), 9)


def _places(node: Any) -> Iterator[tuple[Any, Any]]:
    pairs = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    for key, below in list(pairs):
        yield node, key
        yield from _places(below)


def _mutate(r: random.Random, whole: Any) -> None:
    places = list(_places(whole))
    if not places:
        return
    holder, key = r.choice(places)
    value = holder[key]
    match r.choice(("drop", "repeat", "swap", "scale", "scale", "reorder", "kind")):
        case "drop":
            del holder[key]
        case "repeat" if isinstance(holder, list):
            holder[key:key] = [copy.deepcopy(value)] * r.choice((1, 1, 40))
        case "swap":
            other, name = r.choice(places)
            other[name] = copy.deepcopy(value)
        case "scale":
            numbers = [(h, k) for h, k in places if isinstance(h[k], (int, float)) and not isinstance(h[k], bool)]
            if numbers:
                h, k = r.choice(numbers)
                h[k] = h[k] * r.choice((-1, 0, 1e-300, 1e-6, 0.999999, 1.000001, 10, 1e6, 1e300))
        case "reorder":
            lists = [h[k] for h, k in places if isinstance(h[k], list)]
            if lists:
                r.shuffle(r.choice(lists))
        case _:
            holder[key] = copy.deepcopy(r.choice(places)[0])


def _broken(r: random.Random, data: bytes) -> bytes:
    """Return ``data`` cut short, with bytes changed, taken out or put in twice."""
    changed = bytearray(data)
    for _ in range(r.choice((1, 1, 3, 20))):
        if not changed:
            break
        at = r.randrange(len(changed))
        match r.randrange(5):
            case 0:
                del changed[at:]
            case 1:
                changed[at] = r.randrange(256)
            case 2:
                del changed[at : at + r.randrange(1, 50)]
            case 3:
                changed[at:at] = changed[at : at + r.randrange(1, 50)]
            case _:
                changed[at : at + 4] = struct.pack("<I", r.choice((0, 1, 2**31 - 1, 2**32 - 1)))
    return bytes(changed)


def mesh_file(kind: str) -> bytes:
    """Return the box as a mesh file, with a reference to another file where the format has one."""
    if kind == "stl":
        triangles = [struct.pack("<12fH", 0, 0, 0, *(c for i in face for c in CORNERS[i]), 0) for face in FACES]
        return bytes(80) + struct.pack("<I", len(triangles)) + b"".join(triangles)
    if kind == "text stl":
        loops = [
            "facet normal 0 0 0\nouter loop\n"
            + "".join("vertex {} {} {}\n".format(*CORNERS[i]) for i in face)
            + "endloop\nendfacet\n"
            for face in FACES
        ]
        return ("solid box\n" + "".join(loops) + "endsolid box\n").encode()
    vertices = "".join("{}{} {} {}\n".format("v " if kind == "obj" else "", *corner) for corner in CORNERS)
    if kind == "obj":
        faces = "".join("f {} {} {}\n".format(*(i + 1 for i in face)) for face in FACES)
        return f"mtllib /etc/hostname\n{vertices}usemtl a\n{faces}".encode()
    faces = "".join("3 {} {} {}\n".format(*face) for face in FACES)
    if kind == "off":
        return f"OFF\n8 12 0\n{vertices}{faces}".encode()
    head = "ply\nformat ascii 1.0\nelement vertex 8\nproperty float x\nproperty float y\nproperty float z\n"
    return f"{head}element face 12\nproperty list uchar int vertex_indices\nend_header\n{vertices}{faces}".encode()
