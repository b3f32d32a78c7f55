"""Synthetic lines, the sequence criterion, the export and the agreement of Vosk with PyTorch."""

from __future__ import annotations

import math
import random
from pathlib import Path

import numpy as np
import pytest

torch = pytest.importorskip("torch", reason="needs the extra `forge`")

from assistant.forge import (  # noqa: E402  (torch first: it may be absent)
    agreement,
    build_speech,
    corpus,
    criterion,
    joined,
    kaldi,
    phones,
    spoken,
    texts,
    voices,
    weights,
)
from assistant.forge.network import Network, widened  # noqa: E402

MODEL = Path(__file__).parents[2] / "assistant" / "speech_model"
WORDS = [[(5, 9), (7,)], [(12,)], []]
FRAMES = torch.tensor([9, 6, 8])


def some_outputs() -> torch.Tensor:
    torch.manual_seed(3)
    return torch.randn(3, 9, phones.OUTPUT_COUNT, dtype=torch.float64)


def slopes(score: torch.Tensor, outputs: torch.Tensor) -> torch.Tensor:
    return torch.autograd.grad(score.sum(), outputs)[0]


def numeric_slope(function: object, outputs: torch.Tensor, at: tuple[int, int, int]) -> float:
    step = torch.zeros_like(outputs)
    step[at] = 1e-4
    with torch.no_grad():
        up, down = (function(outputs + s).sum() for s in (step, -step))  # type: ignore[operator]
    return float(up - down) / 2e-4


@pytest.mark.parametrize("kind", ["said", "anything"])
def test_the_slopes_of_the_criterion_are_those_of_its_score(kind: str) -> None:
    what = criterion.supervise(WORDS, torch.device("cpu"))
    trigram = criterion.phone_trigram(WORDS * 4, random.Random(1)).double()

    def score(outputs: torch.Tensor) -> torch.Tensor:
        if kind == "said":
            return criterion.said(outputs, FRAMES, what)
        return criterion.Anything(trigram).score(outputs, FRAMES)

    outputs = some_outputs().requires_grad_(True)
    found = slopes(score(outputs), outputs)
    for at in ((0, 0, 0), (0, 3, 2 * 4), (0, 4, 2 * 8 + 1), (1, 2, 2 * 11), (2, 5, 1), (1, 7, 0)):
        assert float(found[at]) == pytest.approx(numeric_slope(score, some_outputs(), at), abs=1e-3)


def test_the_score_of_one_phone_is_the_sum_over_its_placings() -> None:
    """Two frames, one phone, no silence: it enters in the first and stays in the second."""
    outputs = torch.randn(1, 2, phones.OUTPUT_COUNT, dtype=torch.float64)
    what = criterion.supervise([[(5,)]], torch.device("cpu"))
    found = float(criterion.said(outputs, torch.tensor([2]), what)[0])
    enter, stay = outputs[0, :, 8], outputs[0, :, 9]
    silence = outputs[0, :, 0]
    alone = math.log(0.05) * 2 + float(enter[0] + stay[1])
    before = math.log(0.95) + math.log(0.05) + float(silence[0] + enter[1])
    after = math.log(0.05) + math.log(0.95) + float(enter[0] + silence[1])
    assert found == pytest.approx(np.logaddexp.reduce([alone, before, after]), abs=1e-6)


def test_an_exported_network_computes_the_same() -> None:
    torch.manual_seed(1)
    network = Network(phones.OUTPUT_COUNT).eval()
    back = weights.read_network(weights.acoustic_model(network)).eval()
    sound = torch.randn(1, 60, 40)
    with torch.no_grad():
        assert torch.allclose(network(sound), back(sound), atol=1e-3)


def test_a_wider_bottleneck_computes_the_same_until_it_is_taught() -> None:
    torch.manual_seed(2)
    network = Network(phones.OUTPUT_COUNT)
    wide = widened(network, 72)
    back = weights.read_network(weights.acoustic_model(wide))
    sound = torch.randn(2, 50, 40)
    with torch.no_grad():
        expected = network.eval()(sound)
        for found in (wide.eval()(sound), back.eval()(sound)):
            assert torch.allclose(found, expected, atol=1e-3)
    assert back.bottleneck == 72
    wide.train()(sound).square().sum().backward()
    idle = wide.layers[4].up.grad[:, 64:72]
    assert float(idle.abs().max()) > 0


def test_a_gain_that_vosk_cannot_hold_is_refused() -> None:
    with pytest.raises(ValueError, match="gain"):
        kaldi.batch_norm(np.array([1.0, -1.0], np.float32), np.zeros(2, np.float32))


def test_vosk_and_pytorch_agree_on_the_shipped_model() -> None:
    assert agreement.usual_gap(MODEL, build_speech.shipped_clips(2)) < agreement.TOLERANCE


def test_a_wrong_network_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Outputs of another sound differ from what Vosk heard: the tolerance can be missed."""
    clips, right = build_speech.shipped_clips(2), agreement.outputs
    swapped = {clips[0].tobytes(): clips[1], clips[1].tobytes(): clips[0]}
    monkeypatch.setattr(agreement, "outputs", lambda n, clip: right(n, swapped[clip.tobytes()]))
    assert agreement.usual_gap(MODEL, clips) > 10 * agreement.TOLERANCE


def test_an_acoustic_scale_is_read_from_the_settings(tmp_path: Path) -> None:
    (tmp_path / "conf").mkdir()
    settings = tmp_path / "conf" / "model.conf"
    settings.write_text("--beam=12.0\n--acoustic-scale=0.5\n", encoding="utf-8")
    assert agreement.acoustic_scale(tmp_path) == 0.5
    settings.write_text("--beam=12.0\n", encoding="utf-8")
    assert agreement.acoustic_scale(tmp_path) == 1.0


# ---------------------------------------------------------------------------- synthetic lines
def test_a_pause_follows_the_wake_word_in_most_own_commands() -> None:
    rng = random.Random(1)
    own = texts.Commands()
    lines = [texts.split_pauses(own.line(rng)) for _ in range(300)]
    woken = [(words, pauses) for words, pauses in lines if words[0] == own.wake]
    assert len(woken) > 60
    assert sum(0 in pauses for _, pauses in woken) > len(woken) / 2


def test_own_commands_ask_for_numbers_and_name_clients_by_figures() -> None:
    rng = random.Random(4)
    own = texts.Commands()
    lines = [own.line(rng) for _ in range(3000)]
    assert [s for s in lines if "{" in s] == []
    words = {w for line in lines for w in texts.split_pauses(line)[0]}
    assert {*texts.ONES, *texts.TENS} <= words
    named = [s.partition("client number ")[2] for s in lines if "client number " in s]
    assert len(named) > 20
    known = {*texts.ONES, *texts.TENS}
    assert [s for s in named if not set(s.replace(",", "").split()) <= known] == []


def test_averages_of_learners_are_averaged(tmp_path: Path) -> None:
    from assistant.forge import build_training

    for name, value in (("a", 1.0), ("b", 4.0)):
        torch.save({"weights": torch.full((2, 2), value)}, tmp_path / name)
    found = build_training.mean([tmp_path / "a", tmp_path / "b"])
    assert torch.equal(found["weights"], torch.full((2, 2), 2.5))


def test_every_slot_of_the_requests_is_filled() -> None:
    rng = random.Random(2)
    asked = texts.Requests()
    assert [s for s in (asked.line(rng) for _ in range(2000)) if "{" in s] == []


def line_of(words: str, end: str = ".") -> spoken.Line:
    speaker = spoken.Speaker(spoken.stressed_dictionary(), random.Random(1))
    return spoken.Line(speaker.say(words.split(), is_british=False), (), end)


class Hum:
    """A synthesiser that hums: every symbol lasts two units, marks are silent."""

    def run(
        self, tokens: list[int], style: voices.Floats, speed: float
    ) -> tuple[voices.Floats, voices.Floats]:
        lasts = np.full(len(tokens), 2.0, np.float32)
        loud = np.repeat([t > 2 for t in tokens], 2 * 600).astype(np.float32)
        return np.sin(np.arange(len(loud)) / 8).astype(np.float32) * loud, lasts


def test_lines_spoken_in_one_breath_are_cut_apart_with_their_sounds() -> None:
    lines = [line_of("crown is on"), line_of("not ready", "!")]
    symbols = sorted({s for x in lines for w in x.words for sound in w for s in sound.symbols})
    table = {" ": 1, ".": 2, "!": 2} | {s: n for n, s in enumerate(symbols, start=3)}
    import json

    styles = {"af_test": np.zeros((510, 256), np.float32)}
    made = voices.Synthesiser(Hum(), json.dumps({"vocab": table}).encode(), styles)
    clips = made.speak(lines, {"af_test": 1.0}, 1.0)
    assert len(clips) == 2
    for clip, line in zip(clips, lines, strict=True):
        said = [phones.PHONE_ID[s.phone] for word in line.words for s in word]
        assert [number for number, _, _ in clip.phones] == said
        assert all(a < b for _, a, b in clip.phones)


def test_joined_words_keep_their_places(tmp_path: Path) -> None:
    writer = corpus.Writer(tmp_path / "commands")
    for word in ("yes", "no", "stop", "go"):
        samples = np.full(16000, 100, np.int16)
        writer.add(samples, word, "one", "train", [(5, 0.3, 0.4), (6, 0.4, 0.6)], [2])
    writer.close()
    joined.join_words(tmp_path / "commands.jsonl", tmp_path / "joined", rounds=1)
    clips = list(corpus.read_index(tmp_path / "joined.jsonl"))
    assert sum(len(c.words) for c in clips) >= 3
    for clip in clips:
        starts = [a for _, a, _ in clip.phones]
        assert starts == sorted(starts)
        assert clip.word_lengths == [2] * len(clip.words)
        assert clip.phones[-1][2] <= clip.seconds + joined.LATE
