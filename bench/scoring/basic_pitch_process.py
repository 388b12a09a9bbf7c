"""basic-pitch's own predict over a list of files.

``python -m bench.scoring.basic_pitch_process IN OUT``. IN: JSON list of paths. OUT: JSON, for each
path its notes as [onset_s, offset_s, midi, amplitude]. A process of its own, since importing the
package changes logging and is slow. All settings are the package's own.
"""

import json
import sys
from pathlib import Path


def main() -> None:
    """Read IN, hear every file, write OUT."""
    from basic_pitch import FilenameSuffix, build_icassp_2022_model_path
    from basic_pitch.inference import Model, predict

    wanted, answer = Path(sys.argv[1]), Path(sys.argv[2])
    model = Model(build_icassp_2022_model_path(FilenameSuffix.onnx))
    found = []
    for path in json.loads(wanted.read_text(encoding="utf-8")):
        _, _, events = predict(path, model)
        notes = [[float(one) for one in event[:4]] for event in events]
        found.append(sorted(notes))
    answer.write_text(json.dumps(found), encoding="utf-8")


if __name__ == "__main__":
    main()
