"""Readings of a two-point job of 2 bores x 3 depths x 8 angles, and what they come to.

    pip install -r tests/reference/requirements.txt
    python tests/reference/job_2x3x8.py fixtures/job-2x3x8

Invented scenario: a welded 46 mm press-fit shell, as found. The left bore is egged by about
0.1 mm and tighter inside; the right one is nearly round. The numbers are those of numpy's
lstsq on the readings as rounded to the gauge's 0.001 mm, with the mean and the two-lobe pair as
unknowns, the order that borewright chooses for these readings.
"""

import json
import pathlib
import sys

import numpy as np

ANGLES = np.arange(8) * 22.5
DEPTHS = [3.0, 8.0, 13.0]
SHAPE = {  # bore: mean, taper a mm, oval size, long axis of the oval
    "left": (45.941, -0.0012, 0.098, 125.0),
    "right": (45.957, 0.0003, 0.014, 40.0),
}


def main(folder):
    rng = np.random.default_rng(20461)
    rows = ["bore,depth_mm,angle_deg,reading_mm"]
    bores = []
    for bore, (mean, taper, oval, axis) in SHAPE.items():
        sections = []
        for depth in DEPTHS:
            size = mean + taper * (depth - 8.0)
            egg = oval / 2 * np.cos(np.radians(2 * (ANGLES - axis)))
            readings = np.round(size + egg + rng.normal(0.0, 0.0012, 8), 3)
            rows += [f"{bore},{depth},{a},{r:.3f}" for a, r in zip(ANGLES, readings)]
            sections.append(section(depth, readings))
        means = np.array([s["mean_diameter_mm"] for s in sections])
        slope = np.polyfit(np.array(DEPTHS), means - means.mean(), 1)[0]
        bores.append(
            {
                "bore": bore,
                "mean_diameter_mm": means.mean(),
                "taper_mm_per_mm": slope,
                "sections": sections,
            }
        )
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "readings.csv").write_text("\n".join(rows) + "\n")
    (folder / "expected.json").write_text(json.dumps({"bores": bores}, indent=1) + "\n")


def section(depth, readings):
    turn = np.radians(2 * ANGLES)
    design = np.column_stack([np.ones(8), np.cos(turn), np.sin(turn)])
    (mean, cosine, sine), squares, _, _ = np.linalg.lstsq(design, readings, rcond=None)
    long_axis = np.degrees(np.arctan2(sine, cosine)) / 2 % 180
    return {
        "depth_mm": depth,
        "readings": 8,
        "stations": 8,
        "mean_diameter_mm": mean,
        "largest_mm": readings.max(),
        "smallest_mm": readings.min(),
        "out_of_round_mm": readings.max() - readings.min(),
        "oval": {
            "size_mm": 2 * np.hypot(cosine, sine),
            "long_axis_deg": long_axis,
            "tight_axis_deg": (long_axis + 90) % 180,
        },
        "residual_mm": np.sqrt(squares[0] / 5),
    }


if __name__ == "__main__":
    main(pathlib.Path(sys.argv[1]))
