//! The symbols: own strokes, after the graphical symbols of IEC 60617 and IEEE 315.
//!
//! Each is drawn along the x axis, its first terminal at the left, and then turned.

use std::fmt::Write;

use crate::geometry::{Point, Turn, at};
use crate::layout::Placed;
use crate::picture::{Symbol, Throw};
use crate::svg::Standard;

/// From the middle of a symbol to its terminals.
pub const REACH: i32 = 30;
/// From the middle of a changeover's axis to its contacts.
const CONTACT: i32 = 10;
/// From the middle of a potentiometer to its wiper's terminal.
const WIPER: i32 = 26;

const TWO: &[Point] = &[at(-REACH, 0), at(REACH, 0)];
const CHANGEOVER: &[Point] = &[at(-REACH, 0), at(REACH, -CONTACT), at(REACH, CONTACT)];
const POTENTIOMETER: &[Point] = &[at(-REACH, 0), at(REACH, 0), at(0, WIPER)];

/// The terminals, in the symbol's own coordinates.
pub const fn pins(symbol: Symbol) -> &'static [Point] {
    match symbol {
        Symbol::Changeover { .. } => CHANGEOVER,
        Symbol::Potentiometer => POTENTIOMETER,
        _ => TWO,
    }
}

/// How far a symbol reaches across its axis.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Across {
    /// To the left, or upwards.
    pub before: i32,
    /// To the right, or downwards.
    pub after: i32,
}

/// How far a placed symbol reaches across its axis, signs included.
pub fn extent(symbol: Symbol, placed: &Placed) -> Across {
    let vertical = placed.turn.is_vertical();
    // Signs stand left of an upright symbol and below a lying one.
    let signed = |plain: i32, signs: i32| {
        if vertical { Across { before: signs, after: plain } } else { Across { before: plain, after: signs } }
    };
    let even = |half: i32| Across { before: half, after: half };
    match symbol {
        Symbol::Battery => signed(14, 24),
        Symbol::VoltageSource | Symbol::Ammeter | Symbol::Voltmeter => signed(15, 20),
        Symbol::CurrentSource => signed(15, 27),
        Symbol::Electrolytic => signed(14, 24),
        Symbol::Resistor | Symbol::Equivalent | Symbol::Fuse => even(9),
        Symbol::Lamp => even(15),
        Symbol::Capacitor => even(14),
        Symbol::Inductor => Across { before: 9, after: 9 },
        Symbol::Diode => even(10),
        Symbol::Switch { .. } => Across { before: 16, after: 6 },
        Symbol::Changeover { .. } => even(26),
        Symbol::Potentiometer => {
            let wiper = placed.place(at(0, WIPER));
            if wiper.x > placed.at.x || wiper.y > placed.at.y {
                Across { before: 20, after: WIPER }
            } else {
                Across { before: WIPER, after: 20 }
            }
        }
    }
}

/// A letter or sign that stays upright whichever way the symbol is turned.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Sign {
    /// Its middle, in the drawing.
    pub at: Point,
    /// What is written.
    pub text: &'static str,
    /// Whether it stands inside the symbol, larger.
    pub inside: bool,
}

/// A drawn symbol: SVG shapes in its own coordinates, and its signs.
#[derive(Clone, Debug, Default)]
pub struct Drawn {
    /// SVG elements, to be turned and moved.
    pub shapes: String,
    /// Upright signs.
    pub signs: Vec<Sign>,
}

/// The SVG transform of a placed symbol.
pub fn transform(placed: &Placed) -> String {
    let turn = match placed.turn {
        Turn::Right => 0,
        Turn::Down => 90,
        Turn::Left => 180,
        Turn::Up => 270,
    };
    let mut out = format!("translate({} {})", placed.at.x, placed.at.y);
    if turn != 0 {
        let _ = write!(out, " rotate({turn})");
    }
    if placed.flip {
        out.push_str(" scale(1 -1)");
    }
    out
}

/// Draws a symbol.
pub fn draw(symbol: Symbol, standard: Standard, placed: &Placed) -> Drawn {
    let mut drawn = Drawn::default();
    // +1 when the own y axis points to where signs stand: left of an upright symbol, below a lying one.
    let mut side = if matches!(placed.turn, Turn::Right | Turn::Down) { 1 } else { -1 };
    if placed.flip {
        side = -side;
    }
    let line = |out: &mut String, d: &str| {
        let _ = write!(out, "<path d=\"{d}\"/>");
    };
    let bold = |out: &mut String, d: &str| {
        let _ = write!(out, "<path class=\"bold\" d=\"{d}\"/>");
    };
    let circle = |out: &mut String, x: i32, y: i32, r: &str| {
        let _ = write!(out, "<circle cx=\"{x}\" cy=\"{y}\" r=\"{r}\"/>");
    };
    let leads = |out: &mut String, from: i32, to: i32| {
        let _ = write!(out, "<path d=\"M-{REACH} 0H{from}M{to} 0H{REACH}\"/>");
    };
    let sign = |drawn: &mut Drawn, x: i32, y: i32, text| {
        drawn.signs.push(Sign { at: placed.place(at(x, y)), text, inside: false });
    };
    let inside = |drawn: &mut Drawn, x: i32, y: i32, text| {
        drawn.signs.push(Sign { at: placed.place(at(x, y)), text, inside: true });
    };
    let out = &mut drawn.shapes;
    match symbol {
        Symbol::Resistor | Symbol::Equivalent | Symbol::Potentiometer => {
            resistor(out, standard);
            if symbol == Symbol::Potentiometer {
                let _ = write!(out, "<path d=\"M0 {WIPER}V9\"/><path class=\"solid\" d=\"M0 8L-4 17H4Z\"/>");
                sign(&mut drawn, -24, -14, "a");
                sign(&mut drawn, 24, -14, "b");
            }
        }
        Symbol::Fuse => match standard {
            Standard::Iec => {
                let _ = write!(
                    out,
                    "<path d=\"M-{REACH} 0H{REACH}\"/><rect class=\"clear\" x=\"-20\" y=\"-8\" width=\"40\" height=\"16\"/>"
                );
            }
            Standard::Ieee => {
                leads(out, -20, 20);
                line(out, "M-20 0C-15 -12 -5 -12 0 0S15 12 20 0");
            }
        },
        Symbol::Lamp => {
            leads(out, -14, 14);
            circle(out, 0, 0, "14");
            match standard {
                Standard::Iec => line(out, "M-9.9 -9.9L9.9 9.9M-9.9 9.9L9.9 -9.9"),
                Standard::Ieee => line(out, "M-14 0H-7C-7 -9 7 -9 7 0H14"),
            }
        }
        Symbol::Battery => {
            leads(out, -11, 11);
            line(out, "M-11 -13V13M5 -13V13M-5 0H5");
            bold(out, "M-5 -6V6M11 -6V6");
            sign(&mut drawn, -19, 16 * side, "+");
            sign(&mut drawn, 19, 16 * side, "\u{2212}");
        }
        Symbol::VoltageSource => {
            circle(out, 0, 0, "14");
            match standard {
                Standard::Iec => {
                    line(out, &format!("M-{REACH} 0H{REACH}"));
                    sign(&mut drawn, -22, 12 * side, "+");
                    sign(&mut drawn, 22, 12 * side, "\u{2212}");
                }
                Standard::Ieee => {
                    leads(out, -14, 14);
                    inside(&mut drawn, -7, 0, "+");
                    inside(&mut drawn, 7, 0, "\u{2212}");
                }
            }
        }
        Symbol::CurrentSource => {
            leads(out, -14, 14);
            circle(out, 0, 0, "14");
            match standard {
                // The arrow beside shows which way it drives: out of plus.
                Standard::Iec => {
                    line(out, "M0 -14V14");
                    let y = 22 * side;
                    line(out, &format!("M14 {y}H-8"));
                    let _ = write!(out, "<path class=\"solid\" d=\"M-15 {y}L-6 {}V{}Z\"/>", y - 4, y + 4);
                }
                Standard::Ieee => {
                    line(out, "M9 0H-3");
                    let _ = write!(out, "<path class=\"solid\" d=\"M-10 0L-1 -4V4Z\"/>");
                }
            }
        }
        Symbol::Ammeter | Symbol::Voltmeter => {
            leads(out, -14, 14);
            circle(out, 0, 0, "14");
            inside(&mut drawn, 0, 0, if symbol == Symbol::Ammeter { "A" } else { "V" });
            sign(&mut drawn, -22, 12 * side, "+");
        }
        Symbol::Capacitor => {
            leads(out, -4, 4);
            line(out, "M-4 -13V13M4 -13V13");
        }
        Symbol::Electrolytic => {
            match standard {
                Standard::Iec => {
                    leads(out, -8, 4);
                    let _ = write!(out, "<rect class=\"clear\" x=\"-8\" y=\"-13\" width=\"5\" height=\"26\"/>");
                    bold(out, "M4 -13V13");
                }
                Standard::Ieee => {
                    leads(out, -4, 3);
                    line(out, "M-4 -13V13M8 -13Q-2 0 8 13");
                }
            }
            sign(&mut drawn, -18, 16 * side, "+");
        }
        Symbol::Inductor => {
            leads(out, -20, 20);
            line(out, "M-20 0a5 5.5 0 0 1 10 0a5 5.5 0 0 1 10 0a5 5.5 0 0 1 10 0a5 5.5 0 0 1 10 0");
        }
        Symbol::Diode => {
            let _ = write!(
                out,
                "<path d=\"M-{REACH} 0H{REACH}M9 -9V9\"/><path class=\"{}\" d=\"M-8 -9L9 0L-8 9Z\"/>",
                if standard == Standard::Ieee { "solid" } else { "line" }
            );
        }
        Symbol::Switch { closed } => {
            // The blade opens away from the label: up when lying, to the left when upright.
            let up = if placed.turn.is_vertical() { side } else { -side };
            line(out, &format!("M-{REACH} 0H-16M16 0H{REACH}"));
            if closed {
                line(out, "M-11 0H11");
            } else {
                line(out, &format!("M-11.6 {up}L11 {}", 13 * up));
            }
            circle(out, -14, 0, "2.5");
            circle(out, 14, 0, "2.5");
        }
        Symbol::Changeover { throw } => {
            line(out, &format!("M-{REACH} 0H-16M16 -{CONTACT}H{REACH}M16 {CONTACT}H{REACH}"));
            let y = if throw == Throw::A { -1 } else { 1 };
            line(out, &format!("M-11.7 {y}L11.7 {}", 9 * y));
            circle(out, -14, 0, "2.5");
            circle(out, 14, -CONTACT, "2.5");
            circle(out, 14, CONTACT, "2.5");
            sign(&mut drawn, 20, -CONTACT - 9, "a");
            sign(&mut drawn, 20, CONTACT + 9, "b");
        }
    }
    drawn
}

fn resistor(out: &mut String, standard: Standard) {
    let _ = match standard {
        Standard::Iec => write!(
            out,
            "<path d=\"M-{REACH} 0H-20M20 0H{REACH}\"/><rect class=\"line\" x=\"-20\" y=\"-8\" width=\"40\" height=\"16\"/>"
        ),
        Standard::Ieee => {
            write!(out, "<path d=\"M-{REACH} 0H-20L-16.7 -8L-10 8L-3.3 -8L3.3 8L10 -8L16.7 8L20 0H{REACH}\"/>")
        }
    };
}
