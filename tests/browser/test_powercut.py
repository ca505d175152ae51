"""A dead battery loses nothing that was acknowledged: only what reached the disk is there after it.

The browser's profile lies on a file system in an image file. The image is copied while the browser
is frozen and nothing was unmounted, so the copy holds what had been written to the block device and
nothing that still was in memory. A page of another origin, which shares no file with ours, writes
without asking for durability: what it loses shows that the cut was one.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Playwright

from cabs import Cab
from handset import Handset, chromium, until

READY = "window.unsown && window.unsown.cab.get().keeper && window.unsown.cab.get().writes"
LOGS = """(ms) => {
  const log = window.unsown.cab.get().keeper;
  let n = 0;
  setInterval(() => {
    log.append({kind: 'fix', t_ms: 1777636800000 + n++, lat_deg: 49.73, lon_deg: -106.21, acc_m: 2})
      .then(seq => console.log('kept ' + seq));
  }, ms);
}"""
RELAXED = """(ms) => {
  const opening = indexedDB.open('beside');
  opening.onupgradeneeded = () => opening.result.createObjectStore('rows');
  let n = 0;
  opening.onsuccess = () => setInterval(() => {
    const mine = n++;
    const writing = opening.result.transaction('rows', 'readwrite', {durability: 'relaxed'});
    writing.objectStore('rows').put(mine, mine);
    writing.oncomplete = () => console.log('kept ' + mine);
  }, ms);
}"""
OURS = "async () => (await window.unsown.cab.get().keeper.export()).text()"
BESIDE = """() => new Promise(done => {
  const opening = indexedDB.open('beside');
  opening.onupgradeneeded = () => opening.result.createObjectStore('rows');
  opening.onsuccess = () => {
    const keys = opening.result.transaction('rows').objectStore('rows').getAllKeys();
    keys.onsuccess = () => done(keys.result);
  };
})"""


def missing() -> str:
    """Why this machine cannot cut the power of an image; '' where it can."""
    if os.name != "posix" or os.geteuid() != 0:
        return "only root may mount an image"
    for program in ("mkfs.ext4", "mount", "umount", "losetup"):
        if shutil.which(program) is None:
            return f"there is no {program}"
    found = subprocess.run(["losetup", "--find"], capture_output=True, check=False)
    return "" if found.returncode == 0 else "there is no loop device"


@contextmanager
def mounted(image: Path, at: Path) -> Iterator[None]:
    at.mkdir()
    subprocess.run(["mount", "-o", "loop", str(image), str(at)], check=True)
    try:
        yield
    finally:
        for _ in range(100):  # what was killed lets go of its files a moment later
            if (
                subprocess.run(["umount", str(at)], capture_output=True, check=False).returncode
                == 0
            ):
                break
            time.sleep(0.1)
        else:
            subprocess.run(["umount", "--lazy", str(at)], check=True)


def heard(text: str, says: set[int]) -> None:
    if text.startswith("kept "):
        says.add(int(text.removeprefix("kept ")))


@pytest.mark.soak
@pytest.mark.skipif(bool(missing()), reason=missing() or "it can")
@pytest.mark.parametrize(("ms", "seconds"), [(1_000, 25), (100, 25), (100, 35)])
def test_no_acknowledged_entry_is_lost_when_the_power_is_cut(
    driver: Playwright, tmp_path: Path, cab: Cab, ms: int, seconds: int
) -> None:
    elsewhere = cab.url.replace("localhost", "127.0.0.1").replace("/cab/", "/trust")
    image, copy = tmp_path / "disk.img", tmp_path / "copy.img"
    with image.open("wb") as made:
        made.truncate(400_000_000)
    subprocess.run(["mkfs.ext4", "-q", str(image)], check=True)
    ours: set[int] = set()
    beside: set[int] = set()
    with mounted(image, tmp_path / "disk"):
        handset = Handset(driver, chromium(), tmp_path / "disk" / "profile")
        try:
            page = handset.start(cab.url)
            until(page, READY)
            other = page.context.new_page()
            other.goto(elsewhere)
            for each, says, script in ((page, ours, LOGS), (other, beside, RELAXED)):
                each.on("console", lambda message, says=says: heard(message.text, says))
                each.evaluate(script, ms)
            page.wait_for_timeout(3_000)
            os.sync()  # the profile itself is there; what comes after is on its own
            page.wait_for_timeout(seconds * 1_000)
            handset.signal(signal.SIGSTOP)
            shutil.copyfile(image, copy)
        finally:
            handset.kill()
    with mounted(copy, tmp_path / "after"):
        handset = Handset(driver, chromium(), tmp_path / "after" / "profile")
        try:
            page = handset.start(cab.url)
            until(page, READY)
            kept = {json.loads(line)["seq"] for line in page.evaluate(OURS).splitlines()}
            page.goto(elsewhere)
            kept_beside = set(page.evaluate(BESIDE))
        finally:
            handset.kill()
    print(f"{len(ours)} acknowledged, {len(beside - kept_beside)} of {len(beside)} beside lost")
    assert len(ours) > 0.7 * seconds * 1_000 / ms
    assert len(beside) > 0.7 * seconds * 1_000 / ms
    assert not ours - kept, f"{len(ours - kept)} of {len(ours)} acknowledged entries are gone"
    assert beside - kept_beside, "nothing was lost at all: the power was not really cut"
