//! Values that look like a slip of prefix: a 10 mohm resistor beside kilohms was meant as 10 Mohm.

use malachite::Rational;
use ohmline_syntax::Safety;
use ohmline_syntax::tree::{ExprKind, ValueMain};

use super::Builder;
use super::report::diagnostic;
use super::rules;
use crate::model::{Amount, Params};

impl<'a> Builder<'a> {
    /// Looks for resistors written in milliohms where all others are ten thousand times larger and one has a kilohm or more.
    /// (The bounds are a judgement of what is likely, no standard: common practice, no source.)
    pub(super) fn check_prefixes(&mut self) {
        let slips = std::mem::take(&mut self.small_resistors);
        if slips.is_empty() {
            return;
        }
        let others = self.elements.iter().filter_map(|element| match &element.params {
            Params::Resistor { resistance: Amount::Known(value), .. } if *value >= 1 => Some(value),
            _ => None,
        });
        let (Some(least), Some(most)) = (others.clone().min().cloned(), others.max().cloned()) else { return };
        if most < 1000 {
            return;
        }
        for id in slips {
            let Some(declare) = self.decls[id.index()].declare else { continue };
            let site = self.decls[id.index()].site;
            let Params::Resistor { resistance: Amount::Known(value), .. } = &self.elements[id.index()].params else {
                continue;
            };
            if *value <= 0 || value * Rational::from(10_000) > least {
                continue;
            }
            let Some(value) = &declare.value else { continue };
            let ValueMain::Expr(expr) = &value.main else { continue };
            let ExprKind::Number { text, unit: Some(unit) } = &expr.kind else { continue };
            let Some(rest) = unit.text.strip_prefix('m') else { continue };
            let name = &self.elements[id.index()].name;
            let mended = format!("M{rest}");
            let message =
                format!("`{name}` has {text} {}, thousandths of an ohm, beside resistors of kilohms", unit.text);
            let found = diagnostic(rules::UNLIKELY_PREFIX, site.at(expr.span), message)
                .help(format!("A small `m` is milli; mega is a capital `M`: `{text} {mended}`"))
                .fix(format!("Write `{text} {mended}`"), Safety::Asks, site.at(unit.span), mended);
            self.report.add(found);
        }
    }
}
