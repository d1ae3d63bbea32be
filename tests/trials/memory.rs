//! A bench in memory: decides, numbers lines, replays, and after every deed holds the live
//! standing against the one replayed from all lines. A walker answers whatever a step asks.

use std::collections::BTreeMap;
use std::path::Path;

use chrono::{DateTime, Duration, FixedOffset};
use knuckle::card::{Cards, Checklist, Figure, Material, Measure, Scope, Shop};
use knuckle::deed::{Deed, Line, Value, Work};
use knuckle::standing::{
    Ask, AtStep, Book, House, Intent, LotChoice, Moment, OpensBy, Prompt, Refusal, Replayed,
    Standing, Verdict, decide, prompt,
};

/// The cards of the sample shop with the built-in checklists.
pub(crate) fn sample_cards() -> Cards {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let yaml = |folder: &Path| -> Vec<String> {
        let mut files: Vec<_> = std::fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .filter(|path| path.extension().is_some_and(|ext| ext == "yaml"))
            .collect();
        files.sort();
        files
            .iter()
            .map(|file| std::fs::read_to_string(file).unwrap())
            .collect()
    };
    let shop: Shop =
        serde_yaml::from_str(&std::fs::read_to_string(root.join("sample-shop/shop.yaml")).unwrap())
            .unwrap();
    let materials = yaml(&root.join("sample-shop/materials"))
        .iter()
        .map(|text| serde_yaml::from_str::<Material>(text).unwrap())
        .map(|card| (card.id.clone(), card))
        .collect();
    let checklists = yaml(&root.join("checklists"))
        .iter()
        .map(|text| serde_yaml::from_str::<Checklist>(text).unwrap())
        .map(|card| (card.id.clone(), card))
        .collect();
    let mut figures = BTreeMap::new();
    for entry in std::fs::read_dir(root.join("sample-shop/figures")).unwrap() {
        let text = std::fs::read_to_string(entry.unwrap().path().join("figure.yaml")).unwrap();
        let card: Figure = serde_yaml::from_str(&text).unwrap();
        figures.insert(card.id.clone(), card);
    }
    Cards {
        shop,
        figures,
        materials,
        checklists,
        ..Cards::default()
    }
}

/// A moment in the sample shop's winter.
pub(crate) fn at(text: &str) -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339(text).unwrap()
}

/// What a walker's answer came to.
pub(crate) enum Answered {
    /// Something was done, or the air was read.
    Acted,
    /// Hands can do nothing now.
    Waits,
    /// Another operation must be walked first, on these targets.
    First(String, Vec<Option<String>>),
}

/// A shop that lives in memory.
pub(crate) struct Bench {
    /// Every act that was taken, for a shop on disk to repeat.
    pub(crate) script: Vec<(Intent, Moment)>,
    pub(crate) cards: Cards,
    pub(crate) standing: Standing,
    pub(crate) lines: BTreeMap<Book, Vec<Line>>,
    pub(crate) now: DateTime<FixedOffset>,
    pub(crate) by: String,
    /// Air that the walker reads: °C and %.
    pub(crate) air: (f64, f64),
}

impl Bench {
    pub(crate) fn new(cards: Cards, now: DateTime<FixedOffset>) -> Self {
        Self {
            script: Vec::new(),
            cards,
            standing: Standing::default(),
            lines: BTreeMap::new(),
            now,
            by: "odile".into(),
            air: (20.0, 50.0),
        }
    }

    pub(crate) fn house(&self) -> House<'_> {
        House {
            cards: &self.cards,
            standing: &self.standing,
        }
    }

    pub(crate) fn moment(&self) -> Moment {
        Moment {
            at: self.now,
            by: self.by.clone(),
            bench: "bench 1".into(),
        }
    }

    pub(crate) fn wait(&mut self, minutes: i64) {
        self.now += Duration::minutes(minutes);
    }

    /// Acts, and checks the law: live standing equals the one replayed from all lines.
    pub(crate) fn act(&mut self, intent: &Intent) -> Result<Vec<Line>, Refusal> {
        let written = decide(self.house(), intent, &self.moment())?;
        self.script.push((intent.clone(), self.moment()));
        let mut kept = Vec::new();
        for one in written {
            let book = self.lines.entry(one.book.clone()).or_default();
            let line = Line {
                n: book.len() as u64 + 1,
                at: self.now,
                by: self.by.clone(),
                bench: "bench 1".into(),
                // What is replayed is what was written: through text and back.
                deed: Deed::read(one.deed.fields()),
                entered_later: None,
                strange: Vec::new(),
            };
            assert_eq!(
                line.deed, one.deed,
                "a deed must come back from its text as it was"
            );
            book.push(line.clone());
            if self.standing.replay(&one.book, &line) == Replayed::ReplayWhole {
                self.standing.replay_all(&one.book, book);
            }
            kept.push(line);
        }
        Ok(kept)
    }

    /// Keeps a deed as a fact, without asking whether it may be done.
    pub(crate) fn keep(&mut self, book: &Book, deed: Deed) -> Line {
        let lines = self.lines.entry(book.clone()).or_default();
        let line = Line {
            n: lines.len() as u64 + 1,
            at: self.now,
            by: self.by.clone(),
            bench: "bench 1".into(),
            deed,
            entered_later: None,
            strange: Vec::new(),
        };
        lines.push(line.clone());
        if self.standing.replay(book, &line) == Replayed::ReplayWhole {
            self.standing.replay_all(book, lines);
        }
        line
    }

    /// The law, over all books.
    pub(crate) fn assert_live_is_replayed(&self) {
        let mut again = Standing::default();
        for (book, lines) in &self.lines {
            again.replay_all(book, lines);
        }
        assert_eq!(
            again, self.standing,
            "live standing differs from the replayed one"
        );
    }

    pub(crate) fn begin(&mut self, figure: &str, operation: &str, target: Option<&str>) -> Work {
        let (name, place) = (figure.to_owned(), target.map(str::to_owned));
        let intent = Intent::Begin {
            figure: name.clone(),
            operation: operation.into(),
            target: place.clone(),
        };
        let lines = self.act(&intent).or_else(|no| {
            assert!(no.ask_again, "begin {operation}: {no}");
            let why = "no other room is free".to_owned();
            self.act(&Intent::BeginDespite {
                figure: name,
                operation: operation.into(),
                target: place,
                why,
            })
        });
        let lines = lines.unwrap_or_else(|no| panic!("begin {operation}: {no}"));
        match &lines[0].deed {
            Deed::Begun(begun) => begun.work.clone(),
            other => panic!("{other:?}"),
        }
    }

    pub(crate) fn prompt(&self, figure: &str, work: &Work) -> Prompt {
        prompt(self.house(), figure, work, self.now).expect("a begun job has a prompt")
    }

    pub(crate) fn at_step(
        &mut self,
        figure: &str,
        work: &Work,
        what: AtStep,
    ) -> Result<Vec<Line>, Refusal> {
        self.act(&Intent::Work {
            figure: figure.into(),
            work: work.clone(),
            what,
        })
    }

    /// Reads the air of the room a figure stands in.
    pub(crate) fn read_air(&mut self, figure: &str) {
        let room = self.house().room_of(figure).to_owned();
        let (temp_c, humidity_percent) = self.air;
        self.act(&Intent::Air {
            room,
            temp_c,
            humidity_percent,
            source: "hand".into(),
        })
        .unwrap();
    }

    /// Walks an operation from first step to last, answering what is asked; `special` may
    /// answer first. Returns the work.
    pub(crate) fn walk(
        &mut self,
        figure: &str,
        operation: &str,
        target: Option<&str>,
        special: &mut dyn FnMut(&Prompt) -> Option<AtStep>,
    ) -> Work {
        self.by = self.worker(operation);
        let work = self.begin(figure, operation, target);
        for _ in 0..3000 {
            let prompt = self.prompt(figure, &work);
            if matches!(prompt.ask, Ask::Finished { .. } | Ask::SentBack { .. }) {
                self.assert_live_is_replayed();
                return work;
            }
            if let Some(what) = special(&prompt) {
                self.wait(1);
                self.at_step(figure, &work, what)
                    .unwrap_or_else(|no| panic!("{operation} {}: {no}", prompt.step));
                continue;
            }
            self.answer(figure, &work, &prompt);
        }
        let prompt = self.prompt(figure, &work);
        panic!(
            "{operation} on {target:?} never ends; stands at {}: {:?}",
            prompt.step, prompt.ask
        );
    }

    /// Walks an operation until the step in front is the wanted one. Returns the work.
    pub(crate) fn walk_until(
        &mut self,
        figure: &str,
        operation: &str,
        target: Option<&str>,
        is_it: &mut dyn FnMut(&Prompt) -> bool,
    ) -> Work {
        self.by = self.worker(operation);
        let work = self.begin(figure, operation, target);
        for _ in 0..3000 {
            let prompt = self.prompt(figure, &work);
            if is_it(&prompt) {
                return work;
            }
            self.answer(figure, &work, &prompt);
        }
        panic!("{operation} on {target:?} never stands at the wanted step");
    }

    /// Somebody whose marks allow the operation.
    pub(crate) fn worker(&self, operation: &str) -> String {
        let trade = self.cards.checklists[operation].trade;
        let able = |person: &&knuckle::card::Person| {
            trade == knuckle::card::Mark::Any || person.marks.contains(&trade)
        };
        let people = &self.cards.shop.people;
        people
            .iter()
            .find(able)
            .unwrap_or_else(|| panic!("nobody can do {operation}"))
            .id
            .clone()
    }

    pub(crate) fn answer(&mut self, figure: &str, work: &Work, prompt: &Prompt) {
        self.wait(1);
        match self.answer_once(figure, work, prompt) {
            Answered::Acted => {}
            Answered::Waits => {
                let again = matches!(&prompt.ask, Ask::Gate(verdict)
                    if verdict.opens_by == OpensBy::Operation(work.operation.clone()));
                self.wait(if again { 60 * 49 } else { 60 * 6 });
                self.read_air(figure);
                if again {
                    self.at_step(figure, work, AtStep::ReadAgain).unwrap();
                }
            }
            Answered::First(operation, targets) => {
                let worker = self.by.clone();
                for target in targets {
                    self.walk(figure, &operation, target.as_deref(), &mut |_| None);
                }
                self.by = worker;
            }
        }
    }

    /// Answers what is asked, once, at this moment.
    pub(crate) fn answer_once(&mut self, figure: &str, work: &Work, prompt: &Prompt) -> Answered {
        let what = match &prompt.ask {
            Ask::Gate(verdict) => match self.answer_gate(figure, work, verdict) {
                Ok(what) => what,
                Err(answered) => return answered,
            },
            Ask::Wait { ready: false, .. } | Ask::Finished { .. } | Ask::SentBack { .. } => {
                return Answered::Waits;
            }
            Ask::Hold { may_sign, .. } => {
                let worker = std::mem::replace(&mut self.by, may_sign[0].clone());
                let sign = AtStep::Sign {
                    accepted: true,
                    why: String::new(),
                };
                self.at_step(figure, work, sign).unwrap();
                self.by = worker;
                return Answered::Acted;
            }
            other => self.answer_hand(other),
        };
        self.at_step(figure, work, what.clone())
            .unwrap_or_else(|no| {
                panic!(
                    "{} at `{}` refuses {what:?}: {no}",
                    work.operation, prompt.step
                )
            });
        Answered::Acted
    }

    fn answer_gate(
        &mut self,
        figure: &str,
        work: &Work,
        verdict: &Verdict,
    ) -> Result<AtStep, Answered> {
        match &verdict.opens_by {
            OpensBy::Vouch(_) => Ok(AtStep::Vouch),
            OpensBy::AirReading(_) => {
                self.read_air(figure);
                Err(Answered::Acted)
            }
            OpensBy::Surface => Ok(AtStep::Enter {
                value: Value::Number(self.air.0),
                again: true,
            }),
            OpensBy::Operation(operation) if *operation == work.operation => Err(Answered::Waits),
            OpensBy::Operation(operation) => {
                let targets = self.targets_before(figure, operation.as_str(), work);
                Err(Answered::First(operation.clone(), targets))
            }
            OpensBy::Renew { figure, clock } => {
                let (figure, clock) = (figure.clone(), clock.clone());
                let how = knuckle::standing::CHANGED.to_owned();
                self.act(&Intent::EndClock { figure, clock, how }).unwrap();
                Err(Answered::Acted)
            }
            OpensBy::Wait(_) | OpensBy::Nothing => Err(Answered::Waits),
        }
    }

    /// What a hand answers to everything that is no gate, wait or signature.
    pub(crate) fn answer_hand(&self, ask: &Ask) -> AtStep {
        let text = |text: &str| AtStep::Enter {
            value: Value::Text(text.to_owned()),
            again: false,
        };
        match ask {
            Ask::Cautions(_) | Ask::Confirm { .. } => AtStep::Tick,
            Ask::Reading {
                measure,
                usual,
                plausible,
                ..
            } => AtStep::Enter {
                value: Value::Number(usual_value(*measure, *usual, *plausible, self.air)),
                again: true,
            },
            Ask::Choice { options, .. } => text(&options[0]),
            Ask::Lot { options, .. } => match pick_lot(options) {
                Some(lot) => AtStep::Enter {
                    value: Value::Text(lot.lot.clone()),
                    again: lot.warning.is_some(),
                },
                None => AtStep::Leave {
                    why: "none on the shelf".into(),
                },
            },
            Ask::Photo { .. } => text("taken"),
            Ask::Words { .. } => text("as planned"),
            Ask::Batch { offers } => {
                let good = offers.iter().find(|offer| offer.refused.is_none());
                let good = good.unwrap_or_else(|| panic!("every batch is refused: {offers:?}"));
                AtStep::Plan {
                    material: good.material.clone(),
                }
            }
            Ask::Pour { asked_g, .. } => AtStep::Pour { grams: *asked_g },
            Ask::PourOff { .. } => AtStep::Discard {
                why: "off the ratio".into(),
            },
            Ask::Start { .. } => AtStep::Start,
            Ask::Test {
                places, ready_word, ..
            } => {
                let place = places.iter().find(|place| !place.ready).unwrap();
                AtStep::Test {
                    place: place.place.clone(),
                    word: (*ready_word).to_owned(),
                }
            }
            _ => AtStep::Done,
        }
    }

    /// Where what a gate asks for must be walked: on the figure, or on every zone of the work.
    fn targets_before(&self, figure: &str, operation: &str, work: &Work) -> Vec<Option<String>> {
        let card = &self.cards.figures[figure];
        let target = work.target.clone().unwrap_or_default();
        let joint = card.joints.iter().find(|joint| joint.id == target);
        let panel = card.panels.iter().find(|panel| panel.id == target);
        let all: Vec<Option<String>> = match self.cards.checklists[operation].scope {
            Scope::Figure => vec![None],
            Scope::Joint | Scope::Panel => vec![Some(target)],
            Scope::Zone => match (joint, panel) {
                (Some(joint), _) => joint.zones.iter().cloned().map(Some).collect(),
                (_, Some(panel)) => vec![Some(panel.zone.clone())],
                _ if target.is_empty() => card
                    .zones
                    .iter()
                    .map(|zone| Some(zone.id.clone()))
                    .collect(),
                _ => vec![Some(target)],
            },
        };
        let once = matches!(operation, "photograph" | "lead-test");
        let standing = self.standing.figures.get(figure);
        all.into_iter()
            .filter(|target| {
                let done = standing.and_then(|s| s.finished(operation, target.as_deref()));
                !(once && done.is_some())
            })
            .collect()
    }
}

/// The first lot of the medium epoxy that needs no second look, else the first of all.
pub(crate) fn pick_lot(options: &[LotChoice]) -> Option<&LotChoice> {
    let usual = |lot: &&LotChoice| lot.material == "medium-epoxy" && lot.warning.is_none();
    options.iter().find(usual).or(options.first())
}

/// A believable value inside the usual range.
pub(crate) fn usual_value(
    measure: Measure,
    usual: [f64; 2],
    plausible: [f64; 2],
    air: (f64, f64),
) -> f64 {
    let wanted = match measure {
        Measure::AirTemperature | Measure::SurfaceTemperature | Measure::ResinTemperature => air.0,
        Measure::Humidity => air.1,
        Measure::MoistureCore => 10.5,
        Measure::MoistureSkin => 9.5,
        Measure::Ph => 6.5,
        Measure::Gap => 1.0,
        Measure::Duration => 8.0,
        Measure::Dwell => 25.0,
        Measure::Mass => 650.0,
        _ => f64::midpoint(usual[0], usual[1]).round(),
    };
    let inside = wanted.clamp(usual[0], usual[1]);
    inside.clamp(plausible[0], plausible[1])
}
