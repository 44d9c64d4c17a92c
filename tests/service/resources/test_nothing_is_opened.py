"""Nothing a mesh names is ever opened: no file, no address; the interpreter itself watches."""

import subprocess
import sys

CODE = """
import sys
from service.schemas.hull import hull_from_json, solid_of
from tests.performance.mutants import BOX, CORNERS, FACES, mesh_file
import base64, json

def read(data, kind):
    hull = {**BOX, "format": kind, "data_base64": base64.b64encode(data).decode()}
    return solid_of(hull_from_json(json.dumps(hull).encode()))[0].volume_m3

faces = "".join("f {} {} {}\\n".format(*(i + 1 for i in face)) for face in FACES)
vertices = "".join("v {} {} {}\\n".format(*corner) for corner in CORNERS)
references = "mtllib /etc/hostname\\nmtllib ../../secret.mtl\\nmtllib http://127.0.0.1:9/a.mtl\\nusemtl x\\n"
obj = (references + vertices + "map_Kd /etc/hostname\\n" + faces + "call /etc/hostname\\n").encode()
ply = mesh_file("ply").replace(b"format ascii 1.0\\n", b"format ascii 1.0\\ncomment TextureFile /etc/hostname\\n")
stl = b"solid /etc/hostname\\n" + mesh_file("text stl").split(b"\\n", 1)[1]
cases = [(obj, "obj"), (ply, "ply"), (stl, "stl"), (mesh_file("stl"), "stl"), (mesh_file("off"), "off")]
for data, kind in cases:  # first once, so that every module is loaded
    try:
        read(data, kind)
    except ValueError:
        pass
seen = []
WATCHED = ("open", "socket.connect", "socket.getaddrinfo", "subprocess.Popen", "os.listdir", "urllib.Request")
sys.addaudithook(lambda event, args: seen.append((event, str(args[0]))) if event in WATCHED else None)
volumes = []
for data, kind in cases:
    try:
        volumes.append(round(read(data, kind), 6))
    except ValueError as error:
        volumes.append(error.code)
assert not seen, seen
open("/dev/null").close()
assert seen, "the watch does not see"
print(volumes)
"""


def test_no_reference_is_followed() -> None:
    """The box of the tests is 10 × 4 × 3 m; an OBJ with a line no mesh has may also be refused."""
    done = subprocess.run([sys.executable, "-c", CODE], capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 0, done.stderr
    obj, *others = done.stdout.strip().strip("[]").split(", ")
    assert obj in ("120.0", "'mesh-unreadable'")
    assert others == ["120.0"] * 4
