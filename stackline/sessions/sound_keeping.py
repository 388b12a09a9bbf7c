"""The sound of a take's voicings, from its recording into the library."""

from functools import cached_property
from pathlib import Path

from stackline.practice.library.kept_sound import is_kept, put
from stackline.practice.library.library import Library
from stackline.shared.sound import Audio
from stackline.shared.take import Take


class SoundKeeper:
    """One recording, decoded once for all of its sections, and only where sound is kept."""

    def __init__(self, path: Path) -> None:
        self._path = path

    @cached_property
    def _whole(self) -> Audio:
        from stackline.listen.recording.decode import decode
        from stackline.report.sound.sound_pieces import RATE

        return decode(self._path, RATE.sample_rate_hz)

    def keep(self, library: Library, take_id: int, take: Take) -> int:
        """Keep what sounds at a take's voicings; the bytes that it takes, 0 where none is kept."""
        from dataclasses import replace

        from stackline.listen.recording.midi_keys import is_midi
        from stackline.report.sound.sound_pieces import pack

        is_silent = self._path.suffix.lower() == ".json" or is_midi(self._path)
        if is_silent or not take.voicings or not is_kept(library.store):
            return 0
        audio, cut = self._whole, take.source.cut_from
        if cut is not None:
            first, last = (round(at_s * audio.sample_rate_hz) for at_s in (cut.start_s, cut.end_s))
            audio = replace(audio, samples=audio.samples[first:last])
        data, spans = pack(audio, [one.attack.onset_s for one in take.voicings])
        put(library.store, take_id, data, spans)
        return len(data)


def size_words(size: int) -> str:
    """``, with 84 kB of sound``; empty for nothing."""
    return f", with {max(1, round(size / 1000))} kB of sound" if size else ""
