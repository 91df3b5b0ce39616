"""`python -m tests.support.schema` writes the design file's JSON Schema anew."""

import json

from formsketch.design.file_format import json_schema
from formsketch.shipped import resource


def schema_text() -> str:
    """The schema as it is shipped."""
    return json.dumps(json_schema(), ensure_ascii=False, indent=2) + "\n"


if __name__ == "__main__":
    resource("design.schema.json").write_text(schema_text(), encoding="utf-8")
