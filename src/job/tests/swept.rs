//! A gauge that reads radii: an indicator swept from an axis. The bores are round or oval about that
//! axis, so that what is to be found follows from the words: a diameter is two radii.

use super::*;
use crate::bore::Contact;

const SWEEP: &str = "sweep";

impl Table {
    /// A bench with a swept indicator alone, and a job for it.
    fn swept(sends: Sends, material: Option<crate::fit::Material>) -> Self {
        let mut table = Self::empty();
        let traits = Traits {
            sends,
            ..gauges::typed(Contact::Radius)
        };
        table.shop.gauges = Gauges::from([(SWEEP.into(), traits)]);
        let open = Command::OpenJob {
            part: "a hub".into(),
            seat: "pressfit-46".into(),
            plan: PlanKind::Quick,
            material,
            wall_mm: None,
            yield_mpa: None,
            finish: None,
            service_c: None,
        };
        table.ask(open).unwrap();
        table
    }

    /// At a time of one's own, seconds after some moment.
    fn ask_at(&mut self, seconds: i64, command: &Command) -> Event {
        let fresh = JobId(Uuid::from_u128(9));
        let draft = self.bench.command(&self.shop, command, at(seconds), fresh);
        self.record(draft.unwrap()).clone()
    }

    fn send_at(&mut self, seconds: i64, mm: f64) -> Event {
        let value = Length::from_mm(mm).unwrap();
        let raw = Raw(Vec::new());
        let draft = self
            .bench
            .reading(&self.shop, SWEEP, at(seconds), &raw, value);
        self.record(draft).clone()
    }

    /// Fills the section that is under way with what `reads` gives of each angle.
    fn sweep(&mut self, reads: impl Fn(f64) -> f64) -> Vec<Event> {
        let (bore, _) = self.next().unwrap();
        let mut events = Vec::new();
        while let Some((_, angle)) = self.next().filter(|(next, _)| *next == bore) {
            events.push(self.send(SWEEP, reads(angle.to_radians())).clone());
        }
        events
    }

    fn first_section(&self) -> SectionNumbers {
        let mut sections = self.numbers.sections(Phase::AsFound);
        sections.next().unwrap().clone()
    }
}

fn at(seconds: i64) -> Moment {
    Moment(jiff::Timestamp::from_second(1_800_000_000 + seconds).unwrap())
}

fn ring(shown_mm: Option<f64>) -> Command {
    Command::SetRing {
        gauge: SWEEP.into(),
        ring_mm: 46.0,
        shown_mm,
        ring_uncertainty_mm: Some(0.002),
        ring_due: None,
    }
}

fn near(actual: f64, expected: f64) {
    assert!((actual - expected).abs() < 1e-9, "{actual}, not {expected}");
}

/// `corrected_mm` and `setting_u_mm`.
fn size_of(event: &Event) -> (f64, Option<f64>) {
    let Body::Reading {
        corrected_mm,
        setting_u_mm,
        ..
    } = &event.body
    else {
        panic!("{event:?}")
    };
    (corrected_mm.unwrap(), *setting_u_mm)
}

#[test]
fn a_deviation_of_the_radius_counts_twice_in_the_diameter() {
    for sign in [1.0, -1.0] {
        let mut table = Table::swept(Sends::Deviation { sign }, None);
        // Zeroed a little off: it showed 0.004 in the ring.
        table.ask(ring(Some(0.004))).unwrap();
        let dial = |more: f64| 0.004 + sign * more;
        let events = table.sweep(|t| dial(0.0123 + 0.01 * (2.0 * t).cos()));
        let (size, u) = size_of(&events[0]);
        near(size, 46.0 + 2.0 * 0.0223);
        // The ring to 1 µm (k = 1) and a step of 1 µm of the radius, so 2 µm of the diameter.
        near(u.unwrap(), 0.001_f64.hypot(0.002 / 12.0_f64.sqrt()));
        let Body::Reading {
            value_mm,
            deviation_mm,
            ..
        } = events[0].body
        else {
            panic!()
        };
        near(value_mm, dial(0.0223));
        near(deviation_mm.unwrap(), 0.0223);
        let section = table.first_section();
        assert!(!section.under_way);
        near(section.numbers.mean_diameter_mm.unwrap(), 46.0246);
        // 0.01 mm of the radius, peak to valley of the diameter.
        near(section.numbers.oval.unwrap().size_mm, 0.04);
        let common = section.numbers.uncertainty["mean_diameter_mm"].standard;
        let scatter = section.numbers.mean_scatter().unwrap().standard;
        near(common, scatter.hypot(u.unwrap()));
        let view = View::of(
            &table.bench,
            &table.shop,
            &Following::of(&table.bench, &table.shop),
        );
        near(view.on_bench.unwrap().stations[0].value_mm.unwrap(), size);
    }
}

/// The section while it is gauged says what the whole one says.
#[test]
fn a_sweep_under_way_shows_the_diameter() {
    let mut table = Table::swept(Sends::Deviation { sign: 1.0 }, None);
    table.ask(ring(None)).unwrap();
    for mm in [0.0123; 5] {
        table.send(SWEEP, mm);
    }
    let section = table.first_section();
    assert!(section.under_way);
    near(section.numbers.mean_diameter_mm.unwrap(), 46.0246);
}

#[test]
fn a_gauge_that_sends_radii_shows_half_of_its_ring() {
    let mut table = Table::swept(Sends::Size, None);
    let (size, u) = size_of(&table.send(SWEEP, 23.0123).clone());
    near(size, 46.0246);
    assert_eq!(u, None, "no ring yet");
    let refused = table.ask(ring(Some(46.0))).unwrap_err().0;
    assert!(refused.contains("half the ring, 23 mm"), "{refused}");
    let Body::RingSet { shown_mm, .. } = table.ask(ring(None)).unwrap().body else {
        panic!()
    };
    near(shown_mm, 23.0);
    table.ask(ring(Some(23.002))).unwrap();
    near(size_of(&table.send(SWEEP, 23.0123).clone()).0, 46.0206);
    // 23.0123 mm typed is what the gauge would have sent.
    let typed = Command::TypeReading {
        text: "23.0123".into(),
    };
    near(size_of(&table.ask(typed).unwrap().clone()).0, 46.0246);
    // A diameter is no radius.
    let refused = table.send(SWEEP, 46.01).clone();
    assert!(matches!(refused.body, Body::ReadingRefused { .. }));
}

#[test]
fn what_belongs_is_judged_by_the_diameter() {
    let mut table = Table::swept(Sends::Deviation { sign: 1.0 }, None);
    for (mm, belongs) in [(0.99, true), (1.01, false), (-1.01, false)] {
        let counted = matches!(table.send(SWEEP, mm).body, Body::Reading { .. });
        assert_eq!(counted, belongs, "{mm} without a ring");
    }
    table.ask(ring(None)).unwrap();
    for (mm, belongs) in [(0.99, true), (1.01, false)] {
        let counted = matches!(table.send(SWEEP, mm).body, Body::Reading { .. });
        assert_eq!(counted, belongs, "{mm} with a ring");
    }
}

/// 2 µm of the radius in 600 s, evenly: a bore that seems to grow 4 µm, and is round.
#[test]
fn a_drift_of_the_dial_is_twice_that_of_the_diameter() {
    let mut table = Table::swept(Sends::Deviation { sign: -1.0 }, None);
    table.ask_at(0, &ring(None));
    for step in 1..=6 {
        let drift = 0.002 * f64::from(step) / 6.0;
        table.send_at(i64::from(step) * 100, -(0.0123 + drift));
    }
    let check = Command::CheckRing {
        gauge: SWEEP.into(),
        shown_mm: Some(-0.002),
    };
    let Body::RingChecked { drift_mm, .. } = table.ask_at(600, &check).body else {
        panic!()
    };
    near(drift_mm, 0.004);
    let section = table.first_section();
    assert!(section.revised);
    near(section.numbers.mean_diameter_mm.unwrap(), 46.0246);
    near(section.numbers.oval.unwrap().size_mm, 0.0);
}

/// ISO 1 by hand, part and ring at 26 °C: [46 (1 + 11.5e-6 x 6) + 2 x 0.0123] / (1 + 23.6e-6 x 6).
#[test]
fn a_swept_diameter_is_given_at_20_c() {
    let aluminium = Some(crate::fit::Material::Aluminium);
    let mut table = Table::swept(Sends::Deviation { sign: 1.0 }, aluminium);
    table.ask(ring(None)).unwrap();
    table.sweep(|_| 0.0123);
    let warm = Command::SetTemperature {
        part_c: 26.0,
        ring_c: None,
        within_k: 0.5,
    };
    table.ask(warm).unwrap();
    let expected = (46.0 * (1.0 + 11.5e-6 * 6.0) + 0.0246) / (1.0 + 23.6e-6 * 6.0);
    near(
        table.first_section().numbers.mean_diameter_mm.unwrap(),
        expected,
    );
}

/// Its events say nothing of the contact, and took a deviation of the radius for the diameter's.
#[test]
fn a_journal_of_an_older_version_gets_the_right_diameter() {
    let mut table = Table::swept(Sends::Deviation { sign: 1.0 }, None);
    table.ask(ring(None)).unwrap();
    while table.next().is_some_and(|next| next.0 == "drive side") {
        let value = Length::from_mm(0.0123).unwrap();
        let raw = Raw(Vec::new());
        let mut draft = table
            .bench
            .reading(&table.shop, SWEEP, Moment::now(), &raw, value);
        let Body::Reading {
            contact,
            corrected_mm,
            ..
        } = &mut draft.body
        else {
            panic!()
        };
        (*contact, *corrected_mm) = (None, Some(46.0123));
        let line = serde_json::to_string(&draft.numbered(table.bench.last_seq + 1)).unwrap();
        assert!(!line.contains("contact"));
        let event: Event = serde_json::from_str(&line).unwrap();
        table.bench.apply(&event);
        table.numbers.changed(&table.bench, &[event]);
    }
    near(
        table.first_section().numbers.mean_diameter_mm.unwrap(),
        46.0246,
    );
}
