"""Makes the records of fixtures/report/ with the program itself: an invented job each, readings typed; of the swept bore
from an indicator at a socket. `report_records.py BINARY FOLDER [NAME ...]` makes those named, else all."""
import json, math, pathlib, random, socket, subprocess, sys, tempfile, time, urllib.request

binary, out = sys.argv[1], pathlib.Path(sys.argv[2])
out.mkdir(parents=True, exist_ok=True)


class Bench:
    def __init__(self, config=""):
        self.folder = tempfile.TemporaryDirectory()
        file = pathlib.Path(self.folder.name) / "bench.toml"
        file.write_text(config)
        self.daemon = subprocess.Popen(
            [binary, "run", "--config", str(file), "--data", self.folder.name + "/data", "--page", "127.0.0.1:0",
             "--tcp", "127.0.0.1:0", "--print"], stdout=subprocess.PIPE, text=True)
        self.page = json.loads(self.daemon.stdout.readline())["page"]

    def say(self, command, **arguments):
        body = json.dumps({"command": command, **arguments}).encode()
        request = urllib.request.Request(f"http://{self.page}/commands", body, {"Content-Type": "application/json"})
        try:
            return json.load(urllib.request.urlopen(request))
        except urllib.error.HTTPError as error:
            raise SystemExit(f"{command} {arguments}: {error.read().decode()}")

    def state(self):
        return json.load(urllib.request.urlopen(f"http://{self.page}/state"))

    def gauge(self, size, hand):
        while (next := self.state()["on_bench"]["next"]) is not None:
            value = size(next["bore"], next["depth_mm"], math.radians(next["angle_deg"])) + hand.gauss(0, 0.0006)
            self.say("type_reading", text=f"{value:.3f}")

    def send(self, link, size, hand):
        """The same from a gauge: each line waits until it is stored."""
        while (next := self.state()["on_bench"]["next"]) is not None:
            value = size(next["bore"], next["depth_mm"], math.radians(next["angle_deg"])) + hand.gauss(0, 0.0002)
            link.sendall(f"dev {value:+.4f}\r\n".encode())
            while self.state()["on_bench"]["next"] == next:
                time.sleep(0.01)

    def close(self, name):
        job = self.state()["on_bench"]["job"]
        self.say("close_job")
        record = pathlib.Path(self.folder.name) / "data/jobs" / job / "record.json"
        while not record.exists():
            time.sleep(0.01)
        (out / f"{name}.json").write_bytes(record.read_bytes())
        self.daemon.terminate()
        self.daemon.wait()


def reamed(size, cutter):
    return lambda bore, depth, angle: max(size(bore, depth, angle), cutter)


def oval(mean, half, towards):
    return lambda bore, depth, angle: mean + half * math.cos(2 * (angle - math.radians(towards)))


RING = dict(gauge="typed", ring_mm=46.000, shown_mm=46.001, ring_uncertainty_mm=0.001, ring_due="2027-03-31")
EVIDENCE = dict(runs_tight=True, free_once_out=True, gritty=False, only_with_axle=False, tight_towards_deg=35)
ARM = [{"mass_kg": 0.3, "centre_mm": 150}]
SHOP = """
[[workshop.reamer]]
name = "adjustable, set to 45.984"
diameter_mm = 45.984
"""


def clean():
    bench = Bench()
    hand = random.Random(46)
    bench.say("open_job", part="cargo tricycle, welded 46 mm shell, no. 117 (invented)", seat="pressfit-46", wall_mm=2.5,
              material="steel")
    bench.say("set_ring", **RING)
    bench.say("set_insert", insert={"cup": "aluminium", "bearing": "30x42x7", "outside_mm": 45.998, "length_mm": 10})
    bench.say("set_evidence", evidence=EVIDENCE | {"runs_tight": None, "tight_towards_deg": None})
    bench.say("set_temperature", part_c=21.5, ring_c=21.0)
    bench.gauge(oval(45.972, 0.004, 20), hand)
    bench.say("check_ring", gauge="typed", shown_mm=46.002)
    bore = [b["bore"] for b in bench.state()["on_bench"]["findings"]["bores"]]
    for name in bore:
        bench.say("choose", bore=name, work="press")
    for step in ["clean", "assembly", "square", "force", "spin"]:
        bench.say("tick", step=step)
    bench.close("clean")


def repair():
    bench = Bench(SHOP)
    hand = random.Random(46)
    bench.say("open_job", part="cargo tricycle, welded 46 mm shell, one side egged (invented)", seat="pressfit-46", wall_mm=2.5,
              material="steel")
    bench.say("set_ring", **RING)
    bench.say("set_insert", insert={"cup": "aluminium", "bearing": "30x42x7", "outside_mm": 45.998, "length_mm": 10})
    bench.say("set_evidence", evidence=EVIDENCE)
    bench.say("set_temperature", part_c=21.5, ring_c=21.0)
    test = lambda fitted, stays, slips: bench.say("hang_test", fitted=fitted, test={"masses": ARM, "stays_deg": stays, "slips_deg": slips})
    test(True, [6.0], [9.0])
    test(False, [0.5], [1.0])
    egg = oval(45.948, 0.034, 125)
    good = oval(45.971, 0.005, 20)
    found = lambda name, depth, angle: (egg if name.startswith("drive") else good)(name, depth, angle) + 0.0002 * depth
    bench.gauge(found, hand)
    findings = bench.state()["on_bench"]["findings"]["bores"]
    for b in findings:
        bench.say("choose", bore=b["bore"], work=b["plan"]["advice"], **({"with": b["plan"]["with"]} if b["plan"]["with"] else {}))
        print(b["bore"], b["plan"]["advice"], b["plan"]["with"])
    bench.say("tick", step="ream")
    bench.say("tick", step="chips")
    bench.say("note", text="Paint masked inside the shell before reaming.")
    bench.say("set_phase", phase="as-left")
    left = reamed(found, 45.986)
    bench.gauge(lambda name, depth, angle: (left if name.startswith("drive") else found)(name, depth, angle), hand)
    bench.say("check_ring", gauge="typed", shown_mm=46.002)
    for step in ["as-left", "clean", "assembly", "square", "force"]:
        bench.say("tick", step=step)
    test(True, [0.5], [1.0])
    bench.close("repair")


def no_ring():
    bench = Bench()
    hand = random.Random(46)
    bench.say("open_job", part="pedal car <axle> & \"hub\"\n\u202e \U0001F6B2 " + "x" * 400, seat="pressfit-41", plan="quick")
    bench.gauge(oval(40.98, 0.004, 20), hand)
    bench.close("no-ring")


SWEPT = """
[folders]
gauges = "{folder}"

[[gauge]]
name = "swept-indicator"
port = "tcp://127.0.0.1:{port}"
form = "swept"
serial = "07-113"
calibrated = 2024-05-02
due = 2025-05-02
"""
INDICATOR = """
name = "swept"
summary = "an indicator swept from an axis (invented)"
contact = "radius"
sends = "deviation"
bigger_bore_reads = "more"
resolution = 0.0001
trigger = "button"
bounce_ms = 0
layout = [{ text = "dev" }, { blanks = [1, 1] }, { sign = "always" }, { digits = [1, 2], decimals = [4, 4] }]
"""


def swept():
    with tempfile.TemporaryDirectory() as forms, socket.create_server(("127.0.0.1", 0)) as gauge:
        (pathlib.Path(forms) / "swept.toml").write_text(INDICATOR)
        bench = Bench(SWEPT.format(folder=forms, port=gauge.getsockname()[1]))
        link, _ = gauge.accept()
        bench.say("set_study", gauge="swept-indicator",
                  study={"repeatability_mm": 0.0003, "degrees_of_freedom": 24, "readings": 25, "parts": 1,
                         "studied_at": "2024-06-03T08:00:00Z"})
        bench.say("open_job", part="pump housing, swept on the faceplate (invented)", seat="pressfit-46", plan="full")
        off_axis = lambda angle: 0.030 * math.cos(angle - 1)
        round_ = lambda angle: 0.002 * math.cos(2 * (angle - 0.5)) + 0.0015 * math.cos(3 * angle)
        lobed = lambda angle: 0.009 * math.cos(3 * (angle - 0.2)) + 0.004 * math.cos(2 * angle)
        form = lambda bore, depth, angle: off_axis(angle) + (lobed if bore.startswith("drive") else round_)(angle)
        bench.send(link, form, random.Random(7))
        bench.close("swept")


KINDS = {"clean": clean, "repair": repair, "no-ring": no_ring, "swept": swept}
for kind in sys.argv[3:] or KINDS:
    KINDS[kind]()
