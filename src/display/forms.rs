//! What the mechanic can do: every control sends one command.

use maud::{Markup, html};

use crate::job::{JobView, PlanKind, Status, TYPED, View};

/// No job on the bench: open one, or take one up again.
pub(super) fn start(state: &View) -> Markup {
    html! {
        section #start aria-label="Open a job" {
            form data-command="open_job" autocomplete="off" {
                h2 { "Open a job" }
                label for="part" { "Part" }
                input #part name="part" required maxlength="120" placeholder="Whose, which, what";
                label for="seat" { "Seat" }
                select #seat name="seat" required {
                    @for seat in &state.seats { option value=(seat.name) { (seat.title) } }
                }
                fieldset {
                    legend { "How thoroughly" }
                    @for (value, name, what) in [
                        ("quick", "Quick", "one depth, four angles"),
                        ("seat", "By the seat", "as its description says"),
                        ("standard", "Standard", "every depth, six angles"),
                        ("full", "Full", "every depth, twelve angles"),
                    ] {
                        label.choice {
                            input type="radio" name="plan" value=(value) checked[value == "seat"];
                            span { b { (name) } " " (what) }
                        }
                    }
                }
                button.strong type="submit" { "Put it on the bench" }
            }
        }
        section #open-jobs aria-label="Open jobs" {
            @if !state.open_jobs.is_empty() {
                h2 { "Put aside" }
                @for job in &state.open_jobs {
                    button type="button" data-command=(serde_json::json!({"command": "take_up", "job": job.job})) {
                        b { (job.part) } span { (job.phase) ", take it up" }
                    }
                }
            }
            (ring(state))
        }
    }
}

/// The field for a reading by hand. A gauge that types like a keyboard ends with Enter.
pub(super) fn type_reading() -> Markup {
    html! {
        form #typing data-command="type_reading" autocomplete="off" {
            label for="typed" { "Type a reading" }
            input #typed name="text" required maxlength="40" inputmode="none" placeholder="45.963";
            button type="submit" { "Enter" }
        }
    }
}

/// What is needed again and again while gauging, always within reach.
pub(super) fn bar(job: &JobView) -> Markup {
    let skippable = job.next.is_some();
    html! {
        nav #bar aria-label="While gauging" {
            button type="button" data-command="{\"command\":\"undo\"}" disabled[!job.can_undo] { "Undo" }
            button type="button" data-command="{\"command\":\"skip\"}" disabled[!skippable] { "Skip" }
            button type="button" data-open="more" { "More …" }
        }
    }
}

/// The rarer things.
pub(super) fn more(state: &View, job: &JobView) -> Markup {
    html! {
        dialog #more aria-label="More" {
            h2 { "More" }
            p.hint {
                (job.part) ", " (job.seat.title) ". Plan: "
                (match job.plan {
                    PlanKind::Quick => "quick",
                    PlanKind::Standard => "standard",
                    PlanKind::Full => "full",
                    PlanKind::Seat => "as the seat says",
                })
                ". " (job.seat.source)
            }
            button type="button" data-command="{\"command\":\"second_turn\"}" {
                "Second turn" small { "every direction again from its other end" }
            }
            button type="button" data-command="{\"command\":\"put_aside\"}" {
                "Put aside" small { "stays open, another job can come" }
            }
            button type="button" data-open="close" { "Close the job" small { "writes its record" } }
            (ring(state))
            @if !job.notes.is_empty() {
                ul.notes { @for note in &job.notes { li { (note) } } }
            }
            form data-command="note" data-done="Written down." autocomplete="off" {
                label for="note" { "Write something down" }
                input #note name="text" required maxlength="500";
                button type="submit" { "Keep" }
            }
            button #voice type="button" aria-pressed="false" {
                "Read every reading aloud" small { "with the voice of this device" }
            }
            button.strong type="button" data-close { "Back to gauging" }
        }
    }
}

/// Closing is asked for twice: it ends the job.
pub(super) fn close(job: &JobView) -> Markup {
    let left = job
        .stations
        .iter()
        .filter(|s| s.status == Status::ToDo)
        .count();
    html! {
        dialog #close aria-label="Close the job" {
            h2 { "Close " (job.part) "?" }
            p {
                @if left > 0 {
                    "There are still " (left) " stations to do " (job.phase) ". "
                }
                "Its record is written and the bench is free."
            }
            button.strong type="button" data-command="{\"command\":\"close_job\"}" { "Close the job" }
            button type="button" data-close { "Keep gauging" }
        }
    }
}

/// Setting a gauge in its ring.
fn ring(state: &View) -> Markup {
    html! {
        @if !state.gauges.is_empty() {
            form.ring data-command="set_ring" data-done="The gauge is set in its ring." autocomplete="off" {
                h3 { "Set in a ring" }
                label for="ring-gauge" { "Gauge" }
                select #ring-gauge name="gauge" {
                    @for gauge in &state.gauges {
                        option value=(gauge.name) {
                            (if gauge.name == TYPED { "typed by hand" } else { &gauge.name })
                            (if gauge.size_set { ", set" } else { ", not set" })
                        }
                    }
                }
                label for="ring-size" { "Ring’s calibrated size, mm" }
                input #ring-size name="ring_mm" required data-number inputmode="decimal";
                label for="ring-shown" { "What the gauge shows in it, mm" }
                input #ring-shown name="shown_mm" data-number inputmode="decimal"
                    placeholder="left empty: it was set true";
                label for="ring-u" { "Its uncertainty by the certificate, ± mm" }
                input #ring-u name="ring_uncertainty_mm" data-number inputmode="decimal"
                    placeholder="left empty: none known";
                button type="submit" { "Gauge is set" }
            }
        }
    }
}
