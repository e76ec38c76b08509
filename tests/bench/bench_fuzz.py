"""Malformed requests at a bench on loopback: by hand and, where installed, by schemathesis from its own description.

Run: .venv/bin/python -m tests.bench.bench_fuzz [--requests 10000]
"""

import argparse
import random
import socket
import subprocess
import sys
import tempfile
import time
from collections import Counter
from importlib.util import find_spec
from pathlib import Path

from tests.bench_page.running import Running, multipart, running, small_photo

NAMES = ["../../etc/passwd", "..%2f..%2fetc", "%00", "a" * 4000, "\u202e"]
NAMES += ["%ff%fe", "CON", "{{7191*7}}", "<script>", "'--", "."]
PATHS = [
    *("/", "/photos/{}", "/photos/{}/state", "/photos/{}/overlay.jpg", "/photos/x/{}.jpg", "/pieces/{}", "/static/{}"),
    *("/class", "/live", "/photos", "/photos/{}/keep", "/photos/{}/corners?marked={}&tap.x=9&tap.y={}"),
    "/?again={}&token={}",
]
METHODS = ["GET", "POST", "PUT", "DELETE", "HEAD", "OPTIONS", "PATCH", "TRACE", "BREW"]
KINDS = [
    *("multipart/form-data", "multipart/form-data; boundary=", "multipart/form-data; boundary=x", "application/json"),
    *("application/x-www-form-urlencoded", "text/plain", "image/jpeg", "\t", "multipart/form-data; boundary=\xff"),
]
SECRETS = (b"Traceback", b"/etc/", b"root:x", b"aligncheck/bench/", b"site-packages", b"50337")


def malformed(chance: random.Random, photo: bytes) -> bytes:
    """One request, wrong in some way."""
    name = chance.choice(NAMES)
    path = chance.choice(PATHS).replace("{}", name)
    method = chance.choice(METHODS)
    body, kind = multipart({"panel": chance.choice(["12x12in", name, "9" * 300])}, photo, name.replace("\r", ""))
    kind = chance.choice([kind, kind, chance.choice(KINDS)])
    change = chance.randrange(5)
    if change == 0:
        body = body[: chance.randrange(len(body))]
    elif change == 1:
        at = chance.randrange(len(body))
        body = body[:at] + chance.randbytes(20) + body[at:]
    elif change == 2:
        body = chance.randbytes(chance.randrange(2000))
    elif change == 3:
        body = b"panel=" + name.encode("utf-8", "replace") + b"&=&%zz=%&segments=" + b"1" * chance.randrange(300)
    length = len(body) + (chance.choice([0, 0, 0, 7, -3]))
    host = chance.choice(["localhost", "localhost", "localhost", "127.0.0.1", "evil.example", "[::", ""])
    lines = [f"{method} {path} HTTP/1.1", f"Host: {host}", f"Content-Type: {kind}", f"Content-Length: {max(length, 0)}"]
    lines += chance.choice(
        [[], ["Cookie: place=" + name], ["Cookie: bench=\xff;;=;a"], ["Origin: null"], ["Accept: application/json"]]
    )
    return "\r\n".join([*lines, "Connection: close", "", ""]).encode("utf-8", "replace") + body


def throw(port: int, request: bytes) -> bytes:
    """Send raw bytes; what comes back, up to a bound."""
    got = b""
    try:
        with socket.create_connection(("127.0.0.1", port), timeout=10) as link:
            link.sendall(request)
            # Whatever was promised and not sent is not waited for.
            link.shutdown(socket.SHUT_WR)
            while len(got) < 200_000 and (piece := link.recv(65536)):
                got += piece
    except OSError:
        pass
    return got


def pelt(bench: Running, number: int, seed: int = 1) -> Counter[str]:
    """Throw malformed requests; how many were answered with which status. Raises where something leaks or breaks."""
    chance, photo = random.Random(seed), small_photo(300)[:6000]  # noqa: S311 - not for secrets
    statuses: Counter[str] = Counter()
    for _ in range(number):
        request = malformed(chance, photo)
        got = throw(bench.port, request)
        status = got[9:12].decode("ascii", "replace") if got.startswith(b"HTTP/") else "none"
        statuses[status] += 1
        assert not status.startswith("5"), (request[:400], got[:400])
        assert not any(secret in got for secret in SECRETS), (request[:400], got[:2000])
    assert bench.client().get("/").status == (403 if bench.settings.lan else 200)
    return statuses


def schemathesis(bench: Running, examples: int) -> str:
    """Let schemathesis make requests from the description; its last lines."""
    options = {"url": bench.address, "max-examples": examples, "checks": "not_a_server_error", "seed": 1}
    # Events never end, and what schemathesis thinks of slow or rejected data is not the question.
    options |= {"exclude-path-regex": "events", "suppress-health-check": "all", "request-timeout": 20}
    command = [sys.executable, "-m", "schemathesis.cli", "run", f"{bench.address}/openapi.json"]
    command += [text for name, value in options.items() for text in (f"--{name}", str(value))]
    done = subprocess.run(command, capture_output=True, text=True, timeout=3000, check=False)
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-2000:]
    return "\n".join(done.stdout.strip().splitlines()[-12:])


def main() -> None:
    """Pelt two benches, one of them with a token that is not given, then let schemathesis try."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--requests", type=int, default=10_000)
    chosen = parser.parse_args()
    start = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        with running(Path(folder) / "lan", lan=True) as bench:
            print("without the token ", dict(pelt(bench, chosen.requests // 4)))
        with running(Path(folder) / "own") as bench:
            print("on loopback       ", dict(pelt(bench, chosen.requests // 2, seed=2)))
            if find_spec("schemathesis"):
                print(schemathesis(bench, max(10, chosen.requests // 80)))
            else:
                print("schemathesis is not installed")
            client = bench.client()
            state = client.wait(client.send(small_photo()).json["url"], 600)
            print("afterwards a photo is", state["state"])
    print(f"{time.monotonic() - start:.0f} s")


if __name__ == "__main__":
    main()
