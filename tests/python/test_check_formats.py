"""What `ohmline check`, `fix` and `explain` write, read by programs that know nothing of Ohmline.

SARIF is validated against the JSON schema that OASIS publishes with the standard, and compared with its text: Static Analysis Results
Interchange Format 2.1.0, OASIS, 27 March 2020 (sections in the checks). JUnit XML is read by an XML parser.
"""

import json
import os
import pathlib
import re
import shutil
import subprocess
import tempfile
import unittest
import xml.etree.ElementTree as ElementTree

import jsonschema

OHMLINE = os.environ["OHMLINE"]
SCHEMA = json.loads(pathlib.Path(os.environ["SARIF_SCHEMA"]).read_text(encoding="utf-8"))
SAMPLES = pathlib.Path("samples").resolve()


VALIDATOR = jsonschema.Draft7Validator(SCHEMA)


def call(*arguments, folder=None, stdin=""):
    done = subprocess.run([OHMLINE, *map(str, arguments)], cwd=folder, input=stdin, capture_output=True, text=True, timeout=120)
    return done.returncode, done.stdout, done.stderr


class Folder(unittest.TestCase):
    def setUp(self):
        holder = tempfile.TemporaryDirectory()
        self.addCleanup(holder.cleanup)
        self.folder = pathlib.Path(holder.name)

    def write(self, name, text):
        path = self.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
        return path


class Sarif(Folder):
    def log(self, *arguments):
        status, out, _ = call("check", "--format", "sarif", *arguments, folder=self.folder)
        self.assertIn(status, (0, 1))
        log = json.loads(out)
        wrong = [f"{list(one.absolute_path)}: {one.message[:300]}" for one in VALIDATOR.iter_errors(log)]
        self.assertEqual(wrong[:5], [])
        return log

    def test_the_schema_is_that_of_the_standard_and_refuses_what_is_none(self):
        self.assertIn("(SARIF) Version 2.1.0 JSON Schema", SCHEMA["title"])
        self.assertIn("oasis-tcs/sarif-spec", SCHEMA["$id"])
        jsonschema.Draft7Validator.check_schema(SCHEMA)
        self.write("pier.ohmline", "battery B1 = 6 V\nlamp L1 = 6 ohm\nB1+ -- L1 -- B1-\nB1+ -- B1-\n")
        log = self.log("pier.ohmline")
        result = log["runs"][0]["results"][0]
        for name, value in [("level", "dreadful"), ("message", "text"), ("codeFlows", [{}]), ("colour", "red")]:
            kept = result.get(name)
            result[name] = value
            self.assertFalse(VALIDATOR.is_valid(log), name)
            if kept is None:
                del result[name]
            else:
                result[name] = kept
        self.assertTrue(VALIDATOR.is_valid(log))

    def test_a_closed_path_is_a_flow(self):
        text = "battery B1 = 6 V\nlamp L1 = 6 ohm\nswitch S1 = closed\nfuse F1 = 2 A\n"
        self.write("pier.ohmline", text + "B1+ -- L1 -- B1-\nB1+ -- S1 -- F1 -- B1-\n")
        (result,) = [one for one in self.log("pier.ohmline")["runs"][0]["results"] if one["ruleId"] == "shorted-source"]
        (flow,) = result["codeFlows"]  # 3.27.18, 3.36
        (thread,) = flow["threadFlows"]  # 3.36.3: one or more
        self.assertTrue(flow["message"]["text"].endswith("."))
        lines = text.count("\n")
        at = []
        for step in thread["locations"]:  # 3.37.6: one or more
            self.check_place(step["location"]["physicalLocation"])  # 3.38.3
            self.assertTrue(step["location"]["message"]["text"])
            at.append(step["location"]["physicalLocation"]["region"])
        found = [(region["startLine"] - lines, region["startColumn"]) for region in at]
        self.assertEqual(found, [(2, 8), (2, 14), (1, 1)])  # S1, F1, and back through B1

    def test_what_is_no_way_is_a_list_of_places(self):
        text = "battery B1, B2 = 6 V\nresistor R1, R2, R5 = 12 ohm\n"
        self.write("pier.ohmline", text + "B1+ -- @red -- R1 -- B1-\nB2+ -- @green -- R2 -- B2-\n@red -- R5 -- @green\n")
        (result,) = [one for one in self.log("pier.ohmline")["runs"][0]["results"] if one["ruleId"] == "dead-branch"]
        self.assertNotIn("codeFlows", result)
        self.assertIn("All that joins two sides: Nothing else crosses", result["message"]["text"])
        self.assertIn("On one side B1 and R1.", result["message"]["text"])
        told = [place["message"]["text"] for place in result["relatedLocations"]]  # 3.27.22
        self.assertIn("R5 crosses, from @red to @green.", told)

    def test_two_lines_are_two_threads(self):
        text = "battery B1 = 6 V\nresistor R1, R2, R3, R4, R5 = 12 ohm\n"
        self.write("pier.ohmline", text + "B1+ -- ( R1 -- @a -- R2 | R3 -- @b -- R4 ) -- B1-\n@a -- R5 -- @b\n")
        found = [one for one in self.log("pier.ohmline")["runs"][0]["results"] if one["ruleId"] == "balanced-bridge"]
        (flow,) = found[0]["codeFlows"]
        self.assertEqual([len(thread["locations"]) for thread in flow["threadFlows"]], [2, 2])  # 3.36.3

    def test_the_shape_of_the_standard(self):
        shutil.copytree(SAMPLES, self.folder / "samples")
        log = self.log("samples")
        self.assertEqual(log["version"], "2.1.0")  # 3.13.2
        (run,) = log["runs"]
        driver = run["tool"]["driver"]
        self.assertEqual(run["columnKind"], "unicodeCodePoints")  # 3.14.17
        rules = driver["rules"]
        ids = [rule["id"] for rule in rules]
        self.assertEqual(len(ids), len(set(ids)))
        for rule in rules:
            self.assertIn(rule["defaultConfiguration"]["level"], ("none", "note", "warning", "error"))  # 3.50.3
            self.assertTrue(rule["shortDescription"]["text"].endswith("."))
        self.assertGreater(len(run["results"]), 100)
        self.assertGreater(sum("codeFlows" in result for result in run["results"]), 10)
        for result in run["results"]:
            self.assertEqual(ids[result["ruleIndex"]], result["ruleId"])  # 3.27.6
            self.assertIn(result["level"], ("none", "note", "warning", "error"))  # 3.27.10
            self.assertTrue(result["message"]["text"])
            places = result["locations"] + result.get("relatedLocations", [])
            numbers = [place["id"] for place in result.get("relatedLocations", [])]
            self.assertEqual(len(numbers), len(set(numbers)))  # 3.28.2
            for place in places:
                self.check_place(place["physicalLocation"])
            for fix in result.get("fixes", []):  # 3.55
                self.assertTrue(fix["artifactChanges"])
                for change in fix["artifactChanges"]:
                    self.assertTrue(change["replacements"])
            for flow in result.get("codeFlows", []):
                for step in [step for thread in flow["threadFlows"] for step in thread["locations"]]:
                    self.check_place(step["location"]["physicalLocation"])
            self.assertTrue(result["partialFingerprints"])

    def check_place(self, place):
        uri = place["artifactLocation"]["uri"]
        self.assertNotIn("\\", uri)
        self.assertTrue((self.folder / uri).is_file(), uri)
        region = place["region"]  # 3.30: lines and columns from 1, the end column just past the last character
        lines = re.split(r"\r\n|\r|\n", (self.folder / uri).read_text(encoding="utf-8"))
        for line, column in [("startLine", "startColumn"), ("endLine", "endColumn")]:
            self.assertTrue(1 <= region[line] <= len(lines))
            self.assertTrue(1 <= region[column] <= len(lines[region[line] - 1]) + 1, region)
        start = (region["startLine"], region["startColumn"])
        self.assertLessEqual(start, (region["endLine"], region["endColumn"]))

    def test_a_fix_does_what_it_says(self):
        path = self.write("pier.ohmline", "battery B1 = 6 V\nlamp L1 = 6 ohm\nB1+ -- L1 -- @quay\n@quya -- B1-\n# \u00e9\u03a9\n")
        results = self.log("pier.ohmline")["runs"][0]["results"]
        fixes = [fix for result in results for fix in result.get("fixes", [])]
        self.assertTrue(fixes)
        (change,) = fixes[0]["artifactChanges"]
        lines = path.read_text().split("\n")
        for replacement in sorted(change["replacements"], key=lambda one: -one["deletedRegion"]["startLine"]):
            region = replacement["deletedRegion"]
            self.assertEqual(region["startLine"], region["endLine"])
            line = lines[region["startLine"] - 1]
            new = replacement["insertedContent"]["text"]
            lines[region["startLine"] - 1] = line[: region["startColumn"] - 1] + new + line[region["endColumn"] - 1 :]
        path.write_text("\n".join(lines))
        self.assertEqual(call("check", "pier.ohmline", folder=self.folder)[0], 0)

    def test_what_is_allowed_or_known_is_suppressed(self):
        text = "battery B1 = 6 V, internal 1 ohm\nlamp L1 = 6 ohm\nB1+ -- L1 -- B1-\n"
        loose = "lamp L{0} = 6 ohm\nB1+ -- L{0}\n"
        self.write("pier.ohmline", text + loose.format(2))
        self.assertEqual(self.log("pier.ohmline")["runs"][0]["results"][0]["suppressions"], [])  # 3.27.23
        call("check", "--write-baseline", "known.json", "pier.ohmline", folder=self.folder)
        allowed = "# allow open-end: for the winch\nB1+ -- L4\n"
        self.write("pier.ohmline", text + loose.format(2) + loose.format(3) + "lamp L4 = 6 ohm\n" + allowed)
        results = self.log("--baseline", "known.json", "pier.ohmline")["runs"][0]["results"]
        kinds = []
        for result in results:
            self.assertIsInstance(result["suppressions"], list)  # 3.27.23: on all results of a run or on none
            for one in result["suppressions"]:
                self.assertIn(one["kind"], ("inSource", "external"))  # 3.35.2
                self.assertTrue(one["justification"])  # 3.35.4
            if result["ruleId"] == "open-end":
                kinds.append([one["kind"] for one in result["suppressions"]])
        self.assertEqual(sorted(kinds), [[], ["external"], ["inSource"]])

    def test_a_fingerprint_stays_when_lines_move(self):
        text = "battery B1 = 6 V\nlamp L1 = 6 ohm\nB1+ -- L1 -- @loose\n"
        self.write("pier.ohmline", text)
        prints = lambda: {one["partialFingerprints"]["finding/v1"] for one in self.log("pier.ohmline")["runs"][0]["results"]}
        before = prints()
        self.write("pier.ohmline", "# moved\n\n" + text)
        self.assertEqual(before, prints())


class Others(Folder):
    def test_junit_is_xml_and_counts_right(self):
        self.write("a/pier <&> \".ohmline", "lamp L1 = 6 ohm # \u0007\nB1+ -- L1 -- @x\n")
        self.write("b.ohmline", (SAMPLES / "first-lamp.ohmline").read_text())
        status, out, _ = call("check", "--format", "junit", ".", folder=self.folder)
        self.assertEqual(status, 1)
        root = ElementTree.fromstring(out)
        cases = root.findall(".//testcase")
        self.assertEqual(int(root.get("tests")), len(cases))
        self.assertEqual(int(root.get("failures")), len(root.findall(".//failure")))
        self.assertGreater(int(root.get("failures")), 0)
        self.assertEqual(len(root.findall("testsuite")), 2)

    def test_lines_and_annotations(self):
        self.write("pier.ohmline", "battery B1 = 6 V\nlamp L1 = 6 ohm\nB1+ -- L1 -- @loose\n")
        _, out, _ = call("check", "--format", "line", "pier.ohmline", folder=self.folder)
        self.assertTrue(out)
        for line in out.splitlines():
            self.assertRegex(line, r"^\S+:\d+:\d+: (error|warning|info) [a-z-]+: .+$")
        _, out, _ = call("check", "--format", "annotations", "pier.ohmline", folder=self.folder)
        for line in out.splitlines():
            self.assertRegex(line, r"^::(error|warning|notice) file=[^:,]+,line=\d+,col=\d+,endLine=\d+(,endColumn=\d+)?,title=[a-z-]+::[^\n]+$")

    def test_denied_warnings(self):
        self.write("pier.ohmline", "battery B1 = 6 V\nlamp L1 = 6 ohm\nB1+ -- L1 -- @loose\n")
        self.assertEqual(call("check", "pier.ohmline", folder=self.folder)[0], 0)
        self.assertEqual(call("check", "--deny", "warnings", "pier.ohmline", folder=self.folder)[0], 1)

    def test_many_files_in_one_stable_order(self):
        for number in range(600):
            wrong = "@loose" if number % 7 == 0 else "B1-"
            self.write(f"{number % 9}/pier{number}.ohmline", f"battery B1 = 6 V\nlamp L1 = {number + 1} ohm\nB1+ -- L1 -- {wrong}\n")
        self.write(".hidden/pier.ohmline", "nonsense")
        outs = {call("check", "--format", "line", ".", folder=self.folder)[1] for _ in range(3)}
        self.assertEqual(len(outs), 1)
        (out,) = outs
        self.assertEqual(len({line.split(":")[0] for line in out.splitlines()}), len(range(0, 600, 7)))
        _, out, _ = call("check", ".", folder=self.folder)
        self.assertRegex(out.splitlines()[-1], r"^600 files: ")

    def test_fix_to_the_end_and_not_beyond(self):
        text = "batery B1 = 6 V\nlamp L1 = 6ohm\nB1+ \u2014 L1 -- B1-\n"
        path = self.write("pier.ohmline", text)
        status, out, said = call("fix", "--diff", "pier.ohmline", folder=self.folder)
        self.assertEqual(path.read_text(), text)
        self.assertIn("- B1+ \u2014 L1 -- B1-", out)
        status, _, said = call("fix", "--all", "pier.ohmline", folder=self.folder)
        self.assertEqual(status, 0, said)
        self.assertEqual(call("check", "--deny", "warnings", "pier.ohmline", folder=self.folder)[0], 0)
        self.assertEqual(call("fix", "pier.ohmline", folder=self.folder)[2], "pier.ohmline: nothing mended\n")

    def test_safe_fixes_of_the_file_of_mistakes_make_no_new_error(self):
        path = self.write("every.ohmline", (SAMPLES / "mistakes/every-diagnostic.ohmline").read_text())
        errors = lambda: json.loads(call("check", "--format", "json", path.name, folder=self.folder)[1])["summary"]["errors"]
        before = errors()
        call("fix", path.name, folder=self.folder)
        after = errors()
        self.assertLess(after, before)
        call("fix", path.name, folder=self.folder)
        self.assertEqual(errors(), after)

    def test_every_rule_is_explained(self):
        _, listed, _ = call("explain")
        names = re.findall(r"^  ([a-z]+(?:-[a-z]+)+) ", listed, re.M)
        self.assertGreater(len(names), 70)
        for name in names[::5]:
            status, out, _ = call("explain", name)
            self.assertEqual(status, 0)
            self.assertTrue(out.startswith(name))
        status, _, said = call("explain", "split-serie")
        self.assertEqual((status, said), (2, "ohmline: there is no rule `split-serie`; did you mean `split-series`?\n"))


if __name__ == "__main__":
    unittest.main()
