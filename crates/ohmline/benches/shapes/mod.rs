//! Large circuits of simple shapes.

use std::fmt::Write as _;

/// The text of a circuit of about this many elements.
pub fn text(shape: &str, elements: usize) -> String {
    let mut text = String::with_capacity(elements * 48);
    match shape {
        "ladder" => {
            text.push_str("battery B1 = 12 V, internal 1 ohm\nB1+ -- @n0\nB1- -- @rail\n");
            for k in 1..=elements / 2 {
                let _ = writeln!(text, "resistor A{k} = {} ohm", 1 + k % 7);
                let _ = writeln!(text, "resistor C{k} = {} kohm", 1 + k % 5);
                let _ = writeln!(text, "@n{} -- A{k} -- @n{k} -- C{k} -- @rail", k - 1);
            }
        }
        "grid" => {
            let side = ((elements / 2) as f64).sqrt().ceil() as usize;
            let _ = writeln!(text, "battery B1 = 12 V, internal 1 ohm\nB1+ -- @p0x0\nB1- -- @p{0}x{0}", side - 1);
            for x in 0..side {
                for y in 0..side {
                    if x + 1 < side {
                        let _ = writeln!(text, "resistor H{x}x{y} = {} ohm", 1 + (x * 3 + y) % 9);
                        let _ = writeln!(text, "@p{x}x{y} -- H{x}x{y} -- @p{}x{y}", x + 1);
                    }
                    if y + 1 < side {
                        let _ = writeln!(text, "resistor V{x}x{y} = {} ohm", 1 + (x + y * 5) % 9);
                        let _ = writeln!(text, "@p{x}x{y} -- V{x}x{y} -- @p{x}x{}", y + 1);
                    }
                }
            }
        }
        _ => {
            for k in 0..elements / 4 {
                let _ = writeln!(text, "battery B{k} = {} V", 1 + k % 12);
                let _ = writeln!(text, "resistor R{k} = {} ohm", 10 + k % 90);
                let _ = writeln!(text, "lamp L{k}, M{k} = {} ohm", 5 + k % 20);
                let _ = writeln!(text, "B{k}+ -- R{k} -- ( L{k} | M{k} ) -- B{k}-");
            }
        }
    }
    text
}
