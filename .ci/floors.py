"""Print the lowest stated version of each dependency, as constraints for pip."""

import re
import tomllib
from pathlib import Path

project = tomllib.loads(Path(__file__).parents[1].joinpath("pyproject.toml").read_text(encoding="utf-8"))["project"]
# A constraint may not name extras.
print("\n".join(re.sub(r"\[.*?\]", "", stated).replace(">=", "==") for stated in project["dependencies"]))
