"""basic-pitch's own predict, timed: ``python -m bench.speed.speed_process FILE``.

A process of its own with all the package's own settings. It is called twice, the first
call compiles and loads. Prints JSON: ``seconds`` of the second call, ``peak_mb`` of
resident memory.
"""

import json
import resource
import sys
import time


def main() -> None:
    """Warm up, time one call, print."""
    from basic_pitch import FilenameSuffix, build_icassp_2022_model_path
    from basic_pitch.inference import Model, predict

    model = Model(build_icassp_2022_model_path(FilenameSuffix.onnx))
    predict(sys.argv[1], model)
    started = time.perf_counter()
    predict(sys.argv[1], model)
    seconds = time.perf_counter() - started
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    scale = 1e6 if sys.platform == "darwin" else 1e3  # bytes there, kilobytes on Linux
    print(json.dumps({"seconds": round(seconds, 2), "peak_mb": round(peak / scale, 1)}))


if __name__ == "__main__":
    main()
