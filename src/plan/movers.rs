//! What moves the end of a figure: the rank correlation, over the runs of a forecast, between
//! the luck of each cause and the end (C. Spearman, The proof and measurement of association
//! between two things, American Journal of Psychology 15, 1904), told as the days between its
//! worst and its best third. Small causes of one kind are also looked at together.

use super::project::{GRAIN_MIN, Project};
use super::simulate::Runs;

/// A cause that moves the end by less is not told, days (own judgement).
const LEAST_DAYS: f64 = 0.5;

/// A cause whose luck goes less with the end than this, over the root of the number of runs, is
/// not told: with no connection at all one in 500 comes out above it (the normal approximation
/// of Spearman's coefficient, variance 1/(n − 1)).
const LEAST_LINK: f64 = 2.9;

/// Of all causes of other figures together, which are many and mostly far from the way of this one,
/// with no connection at all one in so many times comes out above what is told: a bound of the
/// normal tail, P(Z > z) ≤ e^(−z²/2), shared out over all of them (C. Bonferroni, Teoria statistica
/// delle classi e calcolo delle probabilità, 1936).
const STRANGERS: f64 = 20.0;

/// Most causes told of a figure (own choice).
const MOST_MOVERS: usize = 3;

/// Something that moves the end of a figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Mover {
    /// What it is: `strip, hands`, with the figure where it is another one.
    pub words: String,
    /// Days between its worst and its best third.
    pub days: f64,
}

/// A cause as the runs drew it: its ranks, and how many minutes hang on it.
struct Cause {
    figure: usize,
    words: String,
    ranks: Vec<f64>,
    minutes: f64,
}

/// Whether a cause is one of those looked at together.
type Belongs<'b> = &'b dyn Fn(&Cause) -> bool;

/// The causes of a project whose luck differs from run to run.
pub(super) struct Tornado<'a> {
    project: &'a Project,
    causes: Vec<Cause>,
}

impl<'a> Tornado<'a> {
    /// Returns the causes on which some length or some rework hangs.
    pub(super) fn of(project: &'a Project, runs: &Runs) -> Self {
        let mut minutes = vec![0.0; project.causes.len()];
        for task in &project.tasks {
            let [early, _, late] = task.minutes;
            if let Some(sum) = minutes.get_mut(task.cause) {
                *sum += f64::from(late - early);
            }
        }
        let turns = project.jobs.iter().filter_map(|job| job.again.as_ref());
        let turns: Vec<usize> = turns.map(|again| again.cause).collect();
        let all = project.causes.iter().zip(&runs.drawn).zip(minutes);
        let causes = all
            .enumerate()
            .filter(|(place, (_, minutes))| 0.0 < *minutes || turns.contains(place))
            .map(|(_, ((cause, drawn), minutes))| Cause {
                figure: cause.figure,
                words: cause.words.clone(),
                ranks: ranks(drawn),
                minutes,
            });
        Self {
            project,
            causes: causes.collect(),
        }
    }

    /// Returns what moves the end of a figure, most first; `ends` are its ends run by run.
    pub(super) fn movers(&self, goal: usize, ends: &[u32]) -> Vec<Mover> {
        if ends.contains(&u32::MAX) || ends.len() < 10 {
            return Vec::new();
        }
        let ends: Vec<f64> = ends.iter().map(|end| f64::from(*end)).collect();
        let end_ranks = ranks(&ends);
        let runs = f64::from(u32::try_from(ends.len()).unwrap_or(u32::MAX));
        let least = |link: f64| link / (runs - 1.0).sqrt();
        let strangers = self.causes.iter().filter(|it| it.figure != goal).count();
        let strangers = f64::from(u32::try_from(strangers).unwrap_or(u32::MAX)).max(1.0);
        let strange_link = (2.0 * (STRANGERS * strangers).ln()).sqrt();
        let mut all: Vec<(f64, Mover)> = Vec::new();
        let mut look = |words: String, own: &[f64], told_from: f64| {
            let (link, days) = (correlation(own, &end_ranks), swing(own, &ends));
            if least(told_from) <= link && LEAST_DAYS <= days {
                all.push((link, Mover { words, days }));
            }
        };
        for cause in &self.causes {
            let figure = self.project.goals.get(cause.figure);
            match figure.filter(|_| cause.figure != goal) {
                Some(other) => {
                    let words = format!("{}: {}", other.figure, cause.words);
                    look(words, &cause.ranks, strange_link);
                }
                None => look(cause.words.clone(), &cause.ranks, LEAST_LINK),
            }
        }
        let hands = |cause: &Cause| cause.words.ends_with(", hands");
        let together: [(&str, Belongs<'_>); 3] = [
            ("all its hands", &|it| it.figure == goal && hands(it)),
            ("all its waits", &|it| it.figure == goal && !hands(it)),
            ("hands on the other figures", &|it| {
                it.figure != goal && hands(it)
            }),
        ];
        for (words, belongs) in together {
            look(
                words.to_owned(),
                &self.together(ends.len(), belongs),
                LEAST_LINK,
            );
        }
        all.sort_by(|a, b| b.0.total_cmp(&a.0));
        all.truncate(MOST_MOVERS);
        all.into_iter().map(|(_, mover)| mover).collect()
    }

    /// The luck of several causes together, each by the minutes that hang on it.
    fn together(&self, runs: usize, belongs: Belongs<'_>) -> Vec<f64> {
        let mut sums = vec![0.0; runs];
        for cause in self.causes.iter().filter(|it| belongs(it)) {
            for (sum, rank) in sums.iter_mut().zip(&cause.ranks) {
                *sum += rank * cause.minutes;
            }
        }
        ranks(&sums)
    }
}

/// Ranks from 0; those alike share the middle of their ranks.
fn ranks(of: &[f64]) -> Vec<f64> {
    let mut order: Vec<(f64, usize)> = of.iter().copied().zip(0..).collect();
    order.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut ranks = vec![0.0; of.len()];
    let mut begin = 0;
    for group in order.chunk_by(|a, b| a.0.total_cmp(&b.0).is_eq()) {
        let count = f64::from(u32::try_from(group.len()).unwrap_or(u32::MAX));
        let rank = f64::from(u32::try_from(begin).unwrap_or(u32::MAX)) + (count - 1.0) / 2.0;
        for (_, place) in group {
            if let Some(slot) = ranks.get_mut(*place) {
                *slot = rank;
            }
        }
        begin += group.len();
    }
    ranks
}

fn correlation(a: &[f64], b: &[f64]) -> f64 {
    let count = f64::from(u32::try_from(a.len()).unwrap_or(u32::MAX));
    let (mean_a, mean_b) = (a.iter().sum::<f64>() / count, b.iter().sum::<f64>() / count);
    let (mut both, mut own, mut other) = (0.0, 0.0, 0.0);
    for (a, b) in a.iter().zip(b) {
        let (a, b) = (a - mean_a, b - mean_b);
        both += a * b;
        own += a * a;
        other += b * b;
    }
    if own <= 0.0 || other <= 0.0 {
        0.0
    } else {
        both / (own * other).sqrt()
    }
}

/// Days between the mean ends of the worst and the best third of a cause's luck.
fn swing(ranks: &[f64], ends: &[f64]) -> f64 {
    let count = f64::from(u32::try_from(ranks.len()).unwrap_or(u32::MAX));
    let mean = |keep: &dyn Fn(f64) -> bool| {
        let kept = ranks.iter().zip(ends).filter(|(rank, _)| keep(**rank));
        let (sum, count) = kept.fold((0.0, 0.0), |(sum, count), (_, end)| {
            (sum + end, count + 1.0)
        });
        sum / f64::max(count, 1.0)
    };
    let (low, high) = (count / 3.0, 2.0 * count / 3.0);
    let slots = mean(&|rank| high <= rank) - mean(&|rank| rank < low);
    slots * f64::from(GRAIN_MIN) / (24.0 * 60.0)
}

#[cfg(test)]
mod tests {
    use super::{correlation, ranks};

    #[test]
    fn ranks_and_their_correlation_come_out_as_published() {
        // IQ against hours of television, ten people: ρ = −29/165 (worked example of many
        // textbooks on Spearman's coefficient, as in Wikipedia's article on it).
        let iq = [
            106.0, 100.0, 86.0, 101.0, 99.0, 103.0, 97.0, 113.0, 112.0, 110.0,
        ];
        let hours = [7.0, 27.0, 2.0, 50.0, 28.0, 29.0, 20.0, 12.0, 6.0, 17.0];
        let rho = correlation(&ranks(&iq), &ranks(&hours));
        assert!((rho + 29.0 / 165.0).abs() < 1e-12, "{rho}");
        assert_eq!(ranks(&[2.0, 1.0, 2.0]), [1.5, 0.0, 1.5]);
    }
}
