"""Text to sound: the same every time, checked, and a beep rather than silence."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from assistant.edges import tones
from assistant.edges.renderer import QUIET, RATE, Renderer
from assistant.errors import DeviceError

TEXTS = (
    "Chair two. Crown. Limit. Rinse now.",
    "Noted.",
    "thirty, three zero",
    "Next, nape: 2½ centimetres — from the scalp.",
)
GONE = (sys.executable, "-c", "print('espeak-ng does not load (not here)')")
HANGS = (sys.executable, "-c", "print('ready', flush=True); input(); print('no answer in time')")
DIES = (sys.executable, "-c", "print('ready', flush=True); input()")


@pytest.fixture(scope="module")
def renderer() -> Iterator[Renderer]:
    made = Renderer()
    yield made
    made.close()


def test_the_same_text_gives_the_same_samples_in_any_order(renderer: Renderer) -> None:
    other = Renderer()
    first = [renderer.render(text) for text in TEXTS]
    second = [other.render(text) for text in reversed(TEXTS)][::-1]
    assert [hash(sound.samples.tobytes()) for sound in first] == [
        hash(sound.samples.tobytes()) for sound in second
    ]  # their hashes: a difference of samples would be printed in full
    other.close()


def test_words_begin_and_end_without_a_long_silence(renderer: Renderer) -> None:
    for text in TEXTS:
        sound = renderer.render(text)
        loud = [i for i, value in enumerate(sound.samples) if abs(value) > QUIET]
        assert sound.rate == RATE
        assert loud[0] / RATE <= 0.021
        assert sound.seconds - loud[-1] / RATE <= 0.081


def test_longer_texts_take_longer_and_faster_speech_less(renderer: Renderer) -> None:
    """About 165 words a minute: a sentence of 7 words takes two to four seconds."""
    assert renderer.render("Noted.").seconds < 1
    assert 2 < renderer.render("Next, the crown: two centimetres deep.").seconds < 4
    fast = Renderer(words_per_minute=260)
    assert fast.render(TEXTS[0]).seconds < 0.8 * renderer.render(TEXTS[0]).seconds
    fast.close()


def test_a_text_is_made_once(renderer: Renderer) -> None:
    assert renderer.render(TEXTS[0]) is renderer.render(TEXTS[0])


def test_threads_take_turns(renderer: Renderer) -> None:
    """pyttsx3 itself fails here: "run loop already started" (its issue 193)."""
    texts = [f"Chair {n}. Crown." for n in range(1, 9)]
    with ThreadPoolExecutor(4) as pool:
        sounds = list(pool.map(renderer.render, texts))
    assert len({sound.samples.tobytes() for sound in sounds}) == 8


def test_nothing_but_the_wheels_is_needed(monkeypatch: pytest.MonkeyPatch) -> None:
    """No espeak-ng command on the path: the library comes with the package espeakng-loader."""
    if not sys.platform.startswith("linux"):
        pytest.skip("the wheel with the library is wanted on Linux only")
    monkeypatch.setenv("PATH", "/nowhere")
    renderer = Renderer()
    assert renderer.rendered("Noted.").spoken
    renderer.close()


def test_no_espeak_at_all_is_one_line_that_says_what_to_do(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "/nowhere")
    with pytest.raises(DeviceError, match="apt install espeak-ng") as caught:
        Renderer(worker=GONE)
    assert "\n" not in str(caught.value)
    with pytest.raises(DeviceError, match="does not start"):
        Renderer(worker=("/nowhere/python",))


@pytest.mark.parametrize("worker", [HANGS, DIES])
def test_what_cannot_be_spoken_is_beeped(
    monkeypatch: pytest.MonkeyPatch, worker: tuple[str, ...]
) -> None:
    monkeypatch.setenv("PATH", "/nowhere")
    renderer = Renderer(worker=worker)
    made = renderer.rendered("Limit. Rinse now.")
    assert made.sound == tones.beep(RATE)
    assert not made.spoken
    with pytest.raises(DeviceError, match="speech failed for 'Limit"):
        renderer.render("Limit. Rinse now.")
    renderer.close()


def test_a_worker_that_dies_is_started_again(tmp_path: Path) -> None:
    """The first process answers once and is gone; the text comes from the next one."""
    renderer = Renderer()
    renderer.render("Noted.")
    process = renderer._process
    assert process is not None
    process.kill()
    process.wait()
    assert renderer.rendered("Chair one. Nape.").spoken
    renderer.close()


@pytest.mark.parametrize("text", ["", "   ", "...", "\0", "\udc80"])
def test_nothing_to_say_is_a_beep_too(renderer: Renderer, text: str) -> None:
    assert not renderer.rendered(text).spoken


def test_nothing_stays_in_the_temporary_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    renderer = Renderer()
    renderer.render("Noted.")
    assert list(tmp_path.iterdir())
    renderer.close()
    assert not list(tmp_path.iterdir())
