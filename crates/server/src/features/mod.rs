//! One file a feature: what was found gets the shapes of the protocol.

pub mod colors;
pub mod commands;
pub mod lenses;
pub mod pull;
pub mod signature;

#[cfg(test)]
mod tests {
    use std::path::Path;
    use std::sync::Arc;
    use std::time::{Duration, Instant};

    use ohmline_analysis::{Analysis, FileSystem, Settings, analyze, load};
    use ohmline_assist::Index;
    use ohmline_assist::lenses::lenses;
    use ohmline_assist::outline::outline;
    use ohmline_assist::stretches::folds;
    use ohmline_assist::tokens::colored;
    use ohmline_syntax::Span;

    struct Nothing;

    impl FileSystem for Nothing {
        fn read(&self, _: &Path) -> Result<Arc<str>, String> {
            Err("there is no such file".to_owned())
        }

        fn exists(&self, _: &Path) -> bool {
            false
        }
    }

    fn ladder(rungs: usize) -> Analysis {
        let mut text = String::from("circuit \"Quay\"\nbattery B1 = 9 V\nB1- -- @b\nB1+ -- @a0\n");
        for n in 0..rungs {
            let next = n + 1;
            text.push_str(&format!("resistor R{n}, Q{n} = 1 ohm\n@a{n} -- R{n} -- @a{next}\n@a{n} -- Q{n} -- @b\n"));
        }
        let tree = Arc::new(ohmline_syntax::parse(&text));
        analyze(load("quay.ohmline", None, tree, &Nothing), &Settings::default())
    }

    fn best(work: &dyn Fn()) -> Duration {
        let times = (0..3).map(|_| {
            let begun = Instant::now();
            work();
            begun.elapsed()
        });
        times.min().unwrap_or_default()
    }

    /// Four times as much text takes about four times as long, not sixteen times.
    #[test]
    fn features_grow_no_faster_than_the_text() {
        let timed = |rungs: usize| {
            let analysis = ladder(rungs);
            let index = Index::new(&analysis.sources);
            let source = &analysis.sources.files[0];
            [
                best(&|| drop(Index::new(&analysis.sources))),
                best(&|| drop(colored(&analysis, &index, Span::new(0, u32::MAX)))),
                best(&|| drop(lenses(&analysis))),
                best(&|| drop(outline(&source.tree))),
                best(&|| drop(folds(&source.tree, &source.lines))),
            ]
        };
        let (small, large) = (timed(400), timed(1600));
        for (number, (small, large)) in small.iter().zip(&large).enumerate() {
            let allowed = *small * 10 + Duration::from_millis(20);
            assert!(*large < allowed, "feature {number}: {small:?}, then {large:?}");
        }
    }
}
