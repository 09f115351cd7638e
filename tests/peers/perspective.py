"""The perspective step by a general-purpose vision library.

Reads JSON: {"seen", "known": four corners each, "points": in the picture, "camera": {"focal", "size", "turn": rotation vector, "eye"},
"things": [x, y, z]}. Prints where the points lie in the plane, and where the camera sees the things: pinhole, square pixels.
"""

import json
import sys

import cv2
import numpy as np

given = json.load(sys.stdin)
to_plane = cv2.getPerspectiveTransform(np.float32(given["seen"]), np.float32(given["known"]))
# The library takes corners in single precision; its map is refined by its own least squares in double.
to_plane, _ = cv2.findHomography(np.float64(given["seen"]), np.float64(given["known"]), 0)
placed = cv2.perspectiveTransform(np.float64([given["points"]]), to_plane)[0]
camera = given["camera"]
width, height = camera["size"]
inside = np.float64([[camera["focal"], 0, width / 2], [0, camera["focal"], height / 2], [0, 0, 1]])
turn = np.float64(camera["turn"])
shift = -cv2.Rodrigues(turn)[0] @ np.float64(camera["eye"])
seen, _ = cv2.projectPoints(np.float64(given["things"]), turn, shift, inside, None)
print(json.dumps({"placed": placed.tolist(), "seen": seen[:, 0, :].tolist()}))
