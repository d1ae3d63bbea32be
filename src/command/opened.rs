//! The shop that a command works on, found and read.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use chrono::{DateTime, FixedOffset, MappedLocalTime, NaiveDateTime, TimeDelta, TimeZone};

use super::paper::Paper;
use super::{Common, Outside, TypedMoment, names};
use crate::card::{Cards, Flaw};
use crate::disk::Disk;
use crate::journal::Damage;
use crate::now::{Clock, Zone};
use crate::reckon::{counted, day_beside};
use crate::report::{Shown, zone_of};
use crate::shop::{self, Cache, Found, Keeper, SampleDisk, Search, ShopFault, Stop};
use crate::standing::{Book, Intent, Moment};
use crate::trouble::{ExitKind, Trouble};

/// A reading that is entered later than this after it was taken is taken for a slip in the date,
/// days (own choice: no gate and no estimate looks back so far).
const LATER_DAYS: i64 = 31;

/// How the cards of a shop are read: all, or without the figures.
type Load = fn(&dyn Disk, &Path) -> Result<(Cards, Vec<Flaw>), ShopFault>;

/// A shop whose cards were read.
#[derive(Debug)]
pub(super) struct Opened {
    pub(super) disk: Arc<dyn Disk>,
    pub(super) folder: PathBuf,
    pub(super) cards: Cards,
    pub(super) flaws: Vec<Flaw>,
    pub(super) zone: Zone,
    /// The moment at which the command runs, in the shop's zone.
    pub(super) now: DateTime<FixedOffset>,
    by: Option<String>,
    bench: String,
    cache: Option<Cache>,
}

impl Opened {
    /// Finds and reads the shop. With none at hand it is the sample shop as it stands in the
    /// program, and a note says so.
    ///
    /// # Errors
    /// When the named folder is no shop, or a card cannot be read from disk.
    pub(super) fn to_read(
        outside: &Outside,
        common: &Common,
        paper: &mut Paper<'_>,
    ) -> Result<Self, Trouble> {
        Self::to_read_by(shop::load, outside, common, paper)
    }

    /// As [`Opened::to_read`], but without the figure cards, for what only tells lines.
    ///
    /// # Errors
    /// As [`Opened::to_read`].
    pub(super) fn to_tell_lines(
        outside: &Outside,
        common: &Common,
        paper: &mut Paper<'_>,
    ) -> Result<Self, Trouble> {
        Self::to_read_by(shop::load_but_figures, outside, common, paper)
    }

    fn to_read_by(
        load: Load,
        outside: &Outside,
        common: &Common,
        paper: &mut Paper<'_>,
    ) -> Result<Self, Trouble> {
        match found(outside, common)? {
            Found::Given(folder) | Found::Here(folder) | Found::Last(folder) => {
                let place = (outside.disk.clone(), folder, load);
                Self::read(place, outside, common, paper)
            }
            Found::Practice => {
                paper.note("no shop here: this is the sample shop; name yours with --shop DIR");
                let sample: Arc<dyn Disk> = Arc::new(SampleDisk::new());
                Self::read((sample, PathBuf::new(), load), outside, common, paper)
            }
        }
    }

    /// Finds and reads the shop to write into.
    ///
    /// # Errors
    /// As [`Opened::to_read`]; when there is none; and when `--clock` is given and the shop is
    /// no practice shop.
    pub(super) fn to_write(
        outside: &Outside,
        common: &Common,
        paper: &mut Paper<'_>,
    ) -> Result<Self, Trouble> {
        Self::if_any(outside, common, paper)?.ok_or_else(|| {
            Trouble::new(ExitKind::Misuse, "there is no shop to write into")
                .at(outside.here.display().to_string())
                .remedy("name it with --shop DIR, go into its folder, or make one with `knuckle open-shop DIR`")
        })
    }

    /// Finds and reads the shop whose alarms ring: to write into where somebody is named who
    /// answers, to read where nobody is.
    ///
    /// # Errors
    /// As [`Opened::to_write`], or as [`Opened::to_read`].
    pub(super) fn to_ring(
        outside: &Outside,
        common: &Common,
        paper: &mut Paper<'_>,
    ) -> Result<Self, Trouble> {
        if common.by.is_none() {
            return Self::to_read(outside, common, paper);
        }
        let shop = Self::to_write(outside, common, paper)?;
        shop.moment()?;
        Ok(shop)
    }

    /// As [`Opened::to_write`], but `None` where there is no shop at all.
    ///
    /// # Errors
    /// As [`Opened::to_write`].
    pub(super) fn if_any(
        outside: &Outside,
        common: &Common,
        paper: &mut Paper<'_>,
    ) -> Result<Option<Self>, Trouble> {
        let folder = match found(outside, common)? {
            Found::Given(folder) | Found::Here(folder) | Found::Last(folder) => folder,
            Found::Practice => return Ok(None),
        };
        let place = (outside.disk.clone(), folder, shop::load as Load);
        let opened = Self::read(place, outside, common, paper)?;
        if common.clock.is_some() && !opened.cards.shop.practice {
            return Err(Trouble::new(
                ExitKind::Misuse,
                "under --clock nothing is written to a shop that is not for practice",
            )
            .at(opened.folder.join("shop.yaml").display().to_string())
            .remedy(
                "leave --clock out, or use a shop with `practice: true`; nothing was changed",
            ));
        }
        Ok(Some(opened))
    }

    fn read(
        (disk, folder, load): (Arc<dyn Disk>, PathBuf, Load),
        outside: &Outside,
        common: &Common,
        paper: &mut Paper<'_>,
    ) -> Result<Self, Trouble> {
        let (mut cards, flaws) = load(disk.as_ref(), &folder)
            .map_err(|fault| Trouble::from(fault).seen_from(&folder))?;
        if !flaws.is_empty() {
            let flaws = counted(flaws.len(), "flaw");
            paper.note(&format!(
                "{flaws} on the cards of this shop: `knuckle check` tells them"
            ));
        }
        let unread = &cards.flawed.unread;
        for flaw in flaws.iter().filter(|flaw| unread.contains(&flaw.file)) {
            paper.note(&flaw.to_string());
        }
        if let Some(units) = common.units {
            cards.shop.units = units.into();
        }
        let zone = zone_of(&cards.shop);
        let now = match common.clock {
            Some(at) => Clock::fixed(zone.show(at.to_utc())),
            None => Clock::wall(zone),
        }
        .moment();
        Ok(Self {
            disk,
            folder,
            cards,
            flaws,
            zone,
            now,
            by: common.by.clone(),
            bench: outside.bench.clone(),
            cache: outside.cache.clone(),
        })
    }

    /// Returns the shop so that nothing of it is kept beside it.
    pub(super) fn without_cache(mut self) -> Self {
        self.cache = None;
        self
    }

    /// As [`Opened::as_read`], and says beside the answer which of the journals are not sound.
    pub(super) fn as_kept<'d>(
        &self,
        damaged: impl IntoIterator<Item = (&'d Book, &'d Damage)>,
        paper: &mut Paper<'_>,
    ) -> ExitKind {
        match paper.damaged(damaged) {
            ExitKind::Well => self.as_read(),
            ended => ended,
        }
    }

    /// Returns how a command ends that found nothing wrong by itself: some file may have been
    /// left out because the disk did not hand it out.
    pub(super) fn as_read(&self) -> ExitKind {
        if self.cards.flawed.unread.is_empty() {
            ExitKind::Well
        } else {
            ExitKind::Disk
        }
    }

    /// Returns the name of this bench.
    pub(super) fn bench(&self) -> &str {
        &self.bench
    }

    /// Returns how quantities are shown.
    pub(super) fn shown(&self) -> Shown {
        Shown(self.cards.shop.units)
    }

    /// Returns a moment in the shop's zone: the hour, and the day when it is not today.
    pub(super) fn hour(&self, at: DateTime<FixedOffset>) -> String {
        let local = self.zone.show(at.to_utc());
        if local.date_naive() == self.now.date_naive() {
            local.format("%H:%M").to_string()
        } else {
            let day = day_beside(local.date_naive(), self.now.date_naive());
            format!("{} {day} {}", local.format("%a"), local.format("%H:%M"))
        }
    }

    /// Returns a moment in the shop's zone as answers in JSON have it.
    pub(super) fn rfc3339(&self, at: DateTime<FixedOffset>) -> String {
        self.zone.show(at.to_utc()).to_rfc3339()
    }

    /// Opens the journals and replays them.
    ///
    /// # Errors
    /// When a journal is there and cannot be read.
    pub(super) fn keeper(&self) -> Result<Keeper, Trouble> {
        let (disk, cards) = (self.disk.clone(), self.cards.clone());
        Keeper::open_with(disk, &self.folder, cards, self.cache.as_ref())
            .map_err(|fault| self.trouble(fault))
    }

    /// As [`Opened::keeper`], and says beside the answer which books are not sound: that of a figure
    /// where only it is asked for, and the shop's own.
    ///
    /// # Errors
    /// As [`Opened::keeper`].
    pub(super) fn told_keeper(
        &self,
        figure: Option<&str>,
        paper: &mut Paper<'_>,
    ) -> Result<Keeper, Trouble> {
        let keeper = self.keeper()?;
        paper.damaged(damaged_of(&keeper, figure));
        Ok(keeper)
    }

    /// Returns a fault with its place as seen from the shop's folder.
    pub(super) fn trouble(&self, fault: impl Into<Trouble>) -> Trouble {
        fault.into().seen_from(&self.folder)
    }

    /// Returns the moment of an act by the person that `--as` names.
    ///
    /// # Errors
    /// When nobody is named, or nobody in the shop has that name.
    pub(super) fn moment(&self) -> Result<Moment, Trouble> {
        let by = names::writer(&self.cards, self.by.as_deref())?.id.clone();
        Ok(self.moment_of(by))
    }

    /// Returns who is named by `--as`, if anybody is.
    ///
    /// # Errors
    /// When nobody in the shop has that name.
    pub(super) fn writer_named(&self) -> Result<Option<&str>, Trouble> {
        if !self.has_writer() {
            return Ok(None);
        }
        let writer = names::writer(&self.cards, self.by.as_deref())?;
        Ok(Some(&writer.id))
    }

    /// Returns whether `--as` names somebody.
    pub(super) fn has_writer(&self) -> bool {
        self.by.is_some()
    }

    /// Returns the moment of an act by somebody.
    pub(super) fn moment_of(&self, by: String) -> Moment {
        Moment {
            at: self.now,
            by,
            bench: self.bench.clone(),
        }
    }

    /// Returns when a reading was taken that is entered after the fact.
    ///
    /// # Errors
    /// When that is still to come, or the clocks of the shop show it twice or not at all.
    pub(super) fn taken_at(&self, typed: TypedMoment) -> Result<DateTime<FixedOffset>, Trouble> {
        let at = match typed {
            TypedMoment::Sure(at) => at,
            TypedMoment::OnTheWall(shown) => self.on_the_wall(shown)?,
        };
        if self.now < at {
            return Err(Trouble::misuse(
                "a reading cannot be taken in the time to come",
                "--at",
                "leave --at out for a reading of this moment",
            ));
        }
        if LATER_DAYS < (self.now - at).num_days() {
            let day = self.zone.show(at.to_utc()).format("%-d %b %Y");
            return Err(Trouble::misuse(
                format!("{day} is more than {LATER_DAYS} days ago"),
                "--at",
                "look at the year and the month; what was read so long ago opens nothing: write it down as a note by `knuckle jot`; nothing was written",
            ));
        }
        Ok(self.zone.show(at.to_utc()))
    }

    /// Returns the one moment at which the clocks of the shop show a date and time.
    fn on_the_wall(&self, shown: NaiveDateTime) -> Result<DateTime<FixedOffset>, Trouble> {
        let written = |at: DateTime<FixedOffset>| at.to_rfc3339();
        let (what, one, other) = match self.zone.moments(shown) {
            MappedLocalTime::Single(at) => return Ok(at),
            MappedLocalTime::Ambiguous(one, other) => (
                "this time comes twice: the clocks are set back over it",
                one,
                other,
            ),
            MappedLocalTime::None => {
                // Half a day to each side the clocks are as they are before and after.
                let offset = |aside: TimeDelta| {
                    let near = self
                        .zone
                        .moments(shown + aside)
                        .earliest()
                        .unwrap_or(self.now);
                    near.offset()
                        .from_local_datetime(&shown)
                        .earliest()
                        .unwrap_or(near)
                };
                let half_a_day = TimeDelta::hours(12);
                (
                    "this time is left out: the clocks are set forward over it",
                    offset(-half_a_day),
                    offset(half_a_day),
                )
            }
        };
        Err(Trouble::misuse(
            what,
            format!("--at {}", shown.format("%Y-%m-%d %H:%M")),
            format!(
                "write it with its offset, {} or {}",
                written(one),
                written(other)
            ),
        ))
    }

    /// Does what an intent wants and tells the lines that were kept. A moment that lies before
    /// the command's own is one that is entered later.
    ///
    /// # Errors
    /// When it was refused or could not be kept; nothing counts then.
    pub(super) fn act(
        &self,
        intent: &Intent,
        moment: &Moment,
        paper: &mut Paper<'_>,
    ) -> Result<ExitKind, Trouble> {
        let mut keeper = self.keeper()?;
        let later = (moment.at < self.now).then_some(self.now);
        let kept = keeper.act_later(intent, moment, later);
        let kept = kept.map_err(|stop| match stop {
            Stop::Refused(refusal) => {
                let refused = Trouble::new(ExitKind::Misuse, refusal.why);
                let remedy = refusal
                    .remedy
                    .unwrap_or_else(|| "nothing was written".to_owned());
                refused.remedy(remedy)
            }
            Stop::Trouble(trouble) => self.trouble(*trouble),
        })?;
        for torn in keeper.take_set_aside() {
            let file = torn.file.strip_prefix(&self.folder).unwrap_or(&torn.file);
            paper.note(&format!(
                "a torn end of {} bytes was set aside as {}",
                torn.bytes,
                file.display()
            ));
        }
        let touched: BTreeSet<&Book> = kept.iter().map(|one| &one.book).collect();
        let damaged = keeper.damaged().iter();
        paper.damaged(damaged.filter(|(book, _)| touched.contains(book)));
        super::jot::tell_kept(&self.cards, &kept, paper)
    }
}

/// Returns the books that are not sound: of the figures only the one that is asked for, if any is,
/// and the shop's own.
pub(super) fn damaged_of<'k>(
    keeper: &'k Keeper,
    figure: Option<&str>,
) -> impl Iterator<Item = (&'k Book, &'k Damage)> {
    keeper
        .damaged()
        .iter()
        .filter(move |(book, _)| match (figure, book) {
            (Some(figure), Book::Figure(id)) => figure == id,
            _ => true,
        })
}

/// Returns the shop that is meant.
fn found(outside: &Outside, common: &Common) -> Result<Found, ShopFault> {
    let given = common.shop.as_ref().map(|shop| outside.folder(shop));
    shop::find(
        outside.disk.as_ref(),
        &Search {
            given: given.as_deref(),
            here: &outside.here,
            memory: outside.memory.as_deref(),
        },
    )
}
