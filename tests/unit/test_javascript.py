"""What the JavaScript is held to: text never becomes markup or code."""

import json
import subprocess

from outside import NPM, node

REFUSED = {
    'part.innerHTML = "a";': "no-restricted-syntax",
    'part.outerHTML = "a";': "no-restricted-syntax",
    'part.insertAdjacentHTML("beforeend", "a");': "no-restricted-syntax",
    'document.write("a");': "no-restricted-syntax",
    'part.srcdoc = "a";': "no-restricted-syntax",
    'eval("a");': "no-eval",
    'new Function("a")();': "no-new-func",
    'setTimeout("a", 1);': "no-implied-eval",
}


def test_the_linter_refuses_what_makes_markup_or_code_of_text():
    code = "\n".join(['const part = document.createElement("p");', *REFUSED])
    linter = [node(), str(NPM / "node_modules" / "eslint" / "bin" / "eslint.js")]
    options = ["--config", str(NPM / "eslint.config.js"), "--format", "json"]
    options += ["--stdin", "--stdin-filename", "striplay/page/tried.js"]
    run = subprocess.run(
        [*linter, *options], input=code, text=True, capture_output=True, cwd=NPM.parents[1],
        check=False,
    )  # fmt: skip
    [found] = json.loads(run.stdout)
    told = {(one["line"], one["ruleId"]) for one in found["messages"]}
    assert told == {(line, rule) for line, rule in enumerate(REFUSED.values(), start=2)}
