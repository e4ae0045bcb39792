"""The page of a circuit, in a real browser: served and following its file, and as a file that stands alone.

Uses OHMLINE, the path of the command. With OHMLINE_BROWSER set it is a failure when there is no Chromium, else the tests that
need one are left out. With OHMLINE_PICTURES set to a folder, pictures of what was seen are left there.
"""

import contextlib
import http.client
import os
import pathlib
import signal
import subprocess
import sys
import tempfile
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).parent))

import browser  # noqa: E402

OHMLINE = os.environ["OHMLINE"]
SAMPLES = pathlib.Path("samples")
PICTURES = os.environ.get("OHMLINE_PICTURES")

QUAY = """circuit "Quay lamps"
battery B1 = 12 V
resistor R1 = 2 ohm
lamp L1, L2 = 8 ohm
B1+ -- R1 -- ( L1 | L2 ) -- B1-
find current through L1
case "one lamp out": L2 = open
"""


def take(page, name):
    if PICTURES:
        page.picture(pathlib.Path(PICTURES) / f"{name}.png")


class Preview:
    """`ohmline preview` on a file of its own."""

    def __init__(self, text, *args):
        self.folder = tempfile.TemporaryDirectory()
        self.file = pathlib.Path(self.folder.name) / "quay.ohmline"
        self.file.write_text(text)
        self.process = subprocess.Popen(
            [OHMLINE, "preview", str(self.file), *args], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
        )
        self.address = self.process.stdout.readline().strip()

    def ask(self, path="/", method="GET", **headers):
        host, port = self.address.removeprefix("http://").rstrip("/").split(":")
        connection = http.client.HTTPConnection(host, int(port), timeout=20)
        connection.putrequest(method, path, skip_host=True)
        for name, value in ({"host": f"{host}:{port}"} | headers).items():
            connection.putheader(name.replace("_", "-"), value)
        connection.endheaders()
        with contextlib.closing(connection):
            answer = connection.getresponse()
            return answer.status, answer.headers, answer.read().decode()

    def close(self):
        self.process.kill()
        self.process.wait()
        self.process.stdout.close()
        self.folder.cleanup()


class Served(unittest.TestCase):
    def setUp(self):
        self.preview = Preview(QUAY)
        self.addCleanup(self.preview.close)

    def test_nothing_but_the_page_for_nobody_else(self):
        ask = self.preview.ask
        self.assertRegex(self.preview.address, r"^http://127\.0\.0\.1:\d+/$")
        status, headers, text = ask()
        self.assertEqual(status, 200)
        self.assertIn("Quay lamps", text)
        policy = headers["content-security-policy"]
        self.assertIn("default-src 'none'", policy)
        self.assertIn("frame-ancestors 'none'", policy)
        self.assertNotIn("unsafe", policy)
        self.assertEqual(headers["x-content-type-options"], "nosniff")
        self.assertEqual(headers["referrer-policy"], "no-referrer")
        again = ask()[1]["content-security-policy"]
        self.assertNotEqual(policy, again, "a nonce is used once")
        self.assertEqual(ask(host="harbour.example")[0], 421)
        self.assertEqual(ask(origin="http://harbour.example")[0], 403)
        self.assertEqual(ask("/news", origin="null")[0], 403)
        self.assertEqual(ask(sec_fetch_site="cross-site")[0], 403)
        self.assertEqual(ask(method="POST")[0], 405)
        self.assertEqual(ask("/quay.ohmline")[0], 404)
        self.assertEqual(ask("/../../etc/passwd")[0], 404)

    def test_a_case_and_one_that_is_not_there(self):
        self.assertIn("one lamp out", self.preview.ask("/?case=one%20lamp%20out")[2])
        status, _, text = self.preview.ask("/?case=%3Cscript%3E")
        self.assertEqual(status, 404)
        self.assertNotIn("<script>\u201d", text)
        self.assertIn("&lt;script&gt;", text)

    def test_it_listens_on_loopback_only(self):
        port = self.preview.address.rstrip("/").rsplit(":", 1)[1]
        listening = [
            line.split()[1]
            for line in pathlib.Path("/proc/net/tcp").read_text().splitlines()[1:]
            if line.split()[3] == "0A" and int(line.split()[1].split(":")[1], 16) == int(port)
        ]
        self.assertEqual([address.split(":")[0] for address in listening], ["0100007F"])

    def test_it_ends_with_its_terminal(self):
        for name in ["SIGINT", "SIGHUP", "SIGTERM"]:
            with self.subTest(name):
                preview = Preview(QUAY)
                preview.process.send_signal(getattr(signal, name))
                self.assertIsNotNone(preview.process.wait(timeout=10))
                preview.close()

    def test_what_cannot_be_shown_is_said_at_once(self):
        for args in [["no-such-file"], ["-"], [str(SAMPLES / "pier-lamps.ohmline"), "--case", "no such case"]]:
            done = subprocess.run([OHMLINE, "preview", *args], capture_output=True, text=True, timeout=20)
            self.assertEqual(done.returncode, 2, args)
            self.assertTrue(done.stderr.startswith("ohmline:"), done.stderr)


@unittest.skipUnless(browser.program() or os.environ.get("OHMLINE_BROWSER"), "there is no Chromium")
class InABrowser(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.page = browser.Browser()
        cls.addClassCleanup(cls.page.close)

    def setUp(self):
        self.page.size(1500, 1000)
        self.page.media()

    def where(self):
        return self.page.run("document.getElementById('where').textContent")

    def check_quiet(self, *prefixes):
        self.assertEqual(self.page.complaints(), [])
        strange = [url for url in self.page.asked() if not url.startswith(prefixes)]
        self.assertEqual(strange, [], "a request left the machine")

    def check_stepping(self, name):
        page = self.page
        count = page.run("document.querySelectorAll('.step').length")
        self.assertGreater(count, 3)
        self.assertEqual(self.where(), "Whole circuit")
        take(page, f"{name}-whole")
        drawings = set()
        for number in range(1, count + 1):
            page.press("ArrowRight")
            self.assertEqual(self.where(), f"Step {number} of {count}")
            here = page.run("[...document.querySelectorAll('.step.here')].map(step => step.id)")
            self.assertEqual(here, [f"step-{number}"])
            top, bottom = page.run(
                "(() => { const box = document.querySelector('.step.here').getBoundingClientRect();"
                "return [box.top, box.bottom]; })()"
            )
            self.assertLess(top, page.run("innerHeight"), "the step is out of sight")
            self.assertGreater(bottom, 0, "the step is out of sight")
            drawings.add(page.run("document.querySelector('.stage').innerHTML.length"))
            if number in (4, count // 2):
                take(page, f"{name}-step-{number}")
        self.assertGreater(len(drawings), 2, "the drawing does not follow the steps")
        page.press("ArrowRight")
        self.assertEqual(self.where(), f"Step {count} of {count}")
        page.press("ArrowLeft")
        self.assertEqual(self.where(), f"Step {count - 1} of {count}")
        page.press("Home")
        self.assertEqual(self.where(), "Whole circuit")
        return count

    def test_step_point_edit_and_keep_the_place(self):
        preview = Preview(QUAY)
        self.addCleanup(preview.close)
        page = self.page
        page.open(preview.address)
        self.check_stepping("quay")

        # The keyboard alone reaches an element of the drawing, and shows what it is.
        for _ in range(40):
            page.press("Tab")
            if page.run("document.activeElement.dataset.element") == "L1":
                break
        self.assertEqual(page.run("document.activeElement.dataset.element"), "L1")
        # 12 V over 2 ohm and two lamps of 8 ohm side by side: 2 A, of which each lamp has half. Ohm's law.
        self.assertIn("I 1.00 A", page.run("document.getElementById('about').textContent"))
        self.assertEqual(page.run("document.querySelector('tr.pointed').dataset.row"), "L1")
        take(page, "quay-pointed")
        page.press("Enter")
        self.assertTrue(page.run("document.querySelector('.step.here').dataset.about.split(' ').includes('L1')"))

        # An edit shows, the page is not loaded again, and the place is kept.
        before = page.run("({ ...window.ohmlinePage.place(), marker: window.marker = 'still here' })")
        preview.file.write_text(QUAY.replace("L2 = 8 ohm", "L2 = 4 ohm"))
        page.until("document.querySelector('tr[data-row=L1]').textContent.includes('1.50')")
        after = page.run("({ ...window.ohmlinePage.place(), marker: window.marker })")
        for key in ["at", "heading", "pinned", "scroll", "marker"]:
            self.assertEqual(before[key], after[key], key)

        # A mistake shows, with what can be solved; mended, it goes away.
        preview.file.write_text(QUAY.replace("( L1 | L2 )", "( L1 | L3 )"))
        page.until("document.querySelector('.findings li.error')?.textContent.includes('L3')")
        take(page, "quay-mistake")
        preview.file.unlink()
        page.until("document.body.textContent.includes('cannot be read')")
        preview.file.write_text(QUAY)
        page.until("document.querySelectorAll('.step').length > 3 && !document.querySelector('.findings')")
        self.check_quiet(preview.address)

        # Another case.
        page.run("[...document.querySelectorAll('.cases a')].find(link => link.textContent.includes('one lamp out')).click()")
        page.until("document.title.includes('one lamp out') && document.querySelectorAll('.step').length > 3")
        take(page, "quay-case")

        # When the preview ends the page says so.
        preview.process.kill()
        page.until("document.getElementById('stale')?.textContent.includes('ended')")

    def test_light_and_dark(self):
        preview = Preview(QUAY)
        self.addCleanup(preview.close)
        page = self.page
        ground = "getComputedStyle(document.body).backgroundColor"
        ink = "getComputedStyle(document.querySelector('.ohm path')).stroke"
        page.media(scheme="dark")
        page.open(preview.address)
        dark = page.run(f"[{ground}, {ink}]")
        take(page, "quay-dark")
        page.run("document.getElementById('light').click()")
        light = page.run(f"[{ground}, {ink}]")
        self.assertEqual(light[0], "rgb(255, 255, 255)")
        self.assertNotEqual(dark, light)
        page.media(scheme="light")
        self.assertEqual(page.run(f"[{ground}, {ink}]"), light)
        page.run("document.getElementById('light').click()")
        self.assertEqual(page.run(f"[{ground}, {ink}]"), dark)
        page.run("localStorage.clear()")

    def test_a_file_that_stands_alone(self):
        page = self.page
        with tempfile.TemporaryDirectory() as folder:
            file = pathlib.Path(folder) / "stairs.html"
            done = subprocess.run(
                [OHMLINE, "solution", str(SAMPLES / "breakwater-lamps.ohmline"), "--format", "html"],
                capture_output=True,
                timeout=60,
            )
            self.assertEqual(done.returncode, 0, done.stderr)
            file.write_bytes(done.stdout)
            page.open(file.as_uri())
            self.check_stepping("breakwater")
            self.check_quiet(file.as_uri())
            page.size(420, 900)
            page.press("End")
            take(page, "breakwater-narrow")
            wide = page.run("document.documentElement.scrollWidth - innerWidth")
            self.assertLessEqual(wide, 0, "a narrow page must not scroll sideways")
            # On paper everything stands in order, with every drawing.
            page.media(media="print")
            hidden = page.run(
                "[...document.querySelectorAll('.step figure')].filter(own => getComputedStyle(own).display === 'none').length"
            )
            self.assertEqual(hidden, 0)
            page.media()
            printed = page.printed()
            self.assertTrue(printed.startswith(b"%PDF"))
            if PICTURES:
                (pathlib.Path(PICTURES) / "breakwater.pdf").write_bytes(printed)

    def test_without_scripts_everything_can_be_read(self):
        page = self.page
        page.call("Emulation.setScriptExecutionDisabled", value=True)
        try:
            with tempfile.TemporaryDirectory() as folder:
                file = pathlib.Path(folder) / "pier.html"
                arguments = [OHMLINE, "solution", str(SAMPLES / "pier-lamps.ohmline"), "--format", "html"]
                file.write_bytes(subprocess.run(arguments, capture_output=True, timeout=60).stdout)
                page.open(file.as_uri())
        finally:
            page.call("Emulation.setScriptExecutionDisabled", value=False)
        hidden = "[...document.querySelectorAll('.step figure')].filter(own => getComputedStyle(own).display === 'none').length"
        self.assertEqual(page.run(hidden), 0)
        self.assertEqual(page.run("getComputedStyle(document.querySelector('.controls')).display"), "none")

    def test_names_that_look_like_markup_stay_text(self):
        text = QUAY.replace("Quay lamps", "<img src=x onerror=alert(1)> & 'lamps'")
        preview = Preview(text)
        self.addCleanup(preview.close)
        self.page.open(preview.address)
        self.assertIn("<img src=x", self.page.run("document.querySelector('h1').textContent"))
        self.assertEqual(self.page.run("document.querySelectorAll('img').length"), 0)
        self.check_quiet(preview.address)


if __name__ == "__main__":
    unittest.main()
