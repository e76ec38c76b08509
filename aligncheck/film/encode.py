"""Frames to files: animated WebP, which every browser plays, and H.264 in MP4 where an encoder is at hand."""

import io
import shutil
import subprocess
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import suppress
from itertools import chain
from pathlib import Path
from typing import IO, cast

import numpy as np
from numpy.typing import NDArray
from PIL import Image

#: A picture (h, w, 3) and how long it is seen, s.
Frame = tuple[NDArray[np.uint8], float]

#: Fine chalk lines survive, and six stages stay below a megabyte.
WEBP_QUALITY, WEBP_EFFORT = 76, 2
FPS = 24
H264_QUALITY = 23


def webp(frames: Iterator[Frame], seconds: Sequence[float]) -> bytes:
    """An animated WebP that repeats for ever; `seconds` has one entry a frame. Frames are taken one at a time."""
    buffer = io.BytesIO()
    times = [max(20, round(s * 1000)) for s in seconds]
    options = {"quality": WEBP_QUALITY, "method": WEBP_EFFORT}
    _Reel(frames, len(times)).save(buffer, "WEBP", save_all=True, duration=times, loop=0, **options)
    return buffer.getvalue()


def mp4(frames: Iterator[Frame]) -> bytes | None:
    """H.264 in MP4, playable from the start while it loads; None where no encoder is at hand."""
    encoder = find_encoder()
    if encoder is None:
        return None
    rgb, seconds = next(frames)
    height, width = rgb.shape[:2]
    with tempfile.TemporaryDirectory(prefix="aligncheck-") as folder:
        target = Path(folder) / "film.mp4"
        command = [encoder, "-v", "error", "-f", "rawvideo", "-pix_fmt", "rgb24", "-s", f"{width}x{height}"]
        command += ["-r", str(FPS), "-i", "-", "-c:v", "libx264", "-preset", "veryfast", "-crf", str(H264_QUALITY)]
        command += ["-pix_fmt", "yuv420p", "-movflags", "+faststart", "-map_metadata", "-1", "-fflags", "+bitexact"]
        command += ["-threads", "2", "-y", str(target)]
        with subprocess.Popen(command, stdin=subprocess.PIPE, stderr=subprocess.DEVNULL) as process:
            # An encoder that cannot do H.264 leaves at once; its status says so.
            with suppress(BrokenPipeError), cast(IO[bytes], process.stdin) as pipe:
                for picture, time in chain([(rgb, seconds)], frames):
                    for _ in range(max(1, round(time * FPS))):
                        pipe.write(picture.tobytes())
            process.wait()
        return target.read_bytes() if process.returncode == 0 and target.is_file() else None


def find_encoder() -> str | None:
    """A program that writes H.264: the system's ffmpeg, or the one that the imageio-ffmpeg package carries."""
    found = shutil.which("ffmpeg")
    if found:
        return found
    try:
        import imageio_ffmpeg
    except ImportError:
        return None
    with suppress(RuntimeError, OSError):
        return str(imageio_ffmpeg.get_ffmpeg_exe())
    return None


class _Reel(Image.Image):
    """A picture of many frames, as Pillow's writers know them, each made when it is sought."""

    format = None

    def __init__(self, frames: Iterator[Frame], count: int):
        super().__init__()
        self._frames, self.n_frames, self._at = frames, count, -1
        self.seek(0)

    def seek(self, frame: int) -> None:
        """Go on to the next frame; back to an earlier one is never needed."""
        if frame <= self._at:
            return
        picture = Image.fromarray(next(self._frames)[0])
        self.im, self._mode, self._size, self._at = picture.im, picture.mode, picture.size, frame

    def tell(self) -> int:
        """Number of the present frame."""
        return self._at
