//! `photo FIGURE FILE… --station S [--zone Z]`: photographs taken into a figure's folder.

use std::path::PathBuf;

use clap::Args;

use super::opened::Opened;
use super::paper::Paper;
use super::{Outside, names};
use crate::deed::PhotoKept;
use crate::report::late_words;
use crate::shop::{PhotoIn, take_photo_in};
use crate::standing::{Intent, PhotoMissing, photos, taken_at};
use crate::trouble::{ExitKind, Trouble};

/// The arguments of `photo`.
#[derive(Debug, Clone, Args)]
pub struct PhotoArgs {
    /// Short name of the figure
    pub figure: String,
    /// The photographs, JPEG or PNG; they are copied, the originals stay
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<PathBuf>,
    /// Zone, joint or panel they show; the whole figure if left out
    #[arg(long, value_name = "ZONE")]
    pub zone: Option<String>,
    /// From where and when in the work, such as "before raking"
    #[arg(long, value_name = "STATION")]
    pub station: String,
    /// Take a picture in that is taken in already: it was named wrongly, or shows both
    #[arg(long)]
    pub again: bool,
}

/// Takes the photographs in, one after the other; the first that cannot be taken stops it.
///
/// # Errors
/// When nobody is named, the figure or the zone is unknown, a file is no photograph, or it
/// cannot be copied or journaled. Those before it are kept.
pub(super) fn run(
    outside: &Outside,
    shop: &Opened,
    args: &PhotoArgs,
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    names::figure(&shop.cards, &args.figure, "FIGURE")?;
    let moment = shop.moment()?;
    if let Some(part) = &args.zone {
        names::part(&shop.cards, (&args.figure, part), "--zone")?;
    }
    // One that cannot be taken in keeps none of the others out.
    let mut left: Vec<Trouble> = Vec::new();
    let seen = photos(shop.keeper()?.house(), &args.figure);
    let mut known: Vec<PhotoKept> = seen.all.into_iter().filter_map(|it| it.filed).collect();
    for file in &args.files {
        let what = PhotoIn {
            figure: &args.figure,
            target: args.zone.as_deref(),
            station: &args.station,
            at: moment.at,
            known: if args.again { &[] } else { &known },
        };
        let from = outside.folder(file);
        let photo = match take_photo_in(shop.disk.as_ref(), &shop.folder, &from, &what) {
            Ok(photo) => photo,
            Err(fault) => {
                left.push(shop.trouble(fault));
                continue;
            }
        };
        known.push(photo.clone());
        if taken_at(&photo, moment.at).is_none() {
            let name = from.file_name().unwrap_or_default().to_string_lossy();
            let says = photo.taken.as_deref().map_or_else(
                || "does not say when it was taken".to_owned(),
                |taken| format!("says that it was taken at {taken}, which is still to come"),
            );
            paper.note(&format!("{name} {says}: its name tells today"));
        }
        let figure = args.figure.clone();
        let sha256 = photo.sha256.clone();
        shop.act(&Intent::KeepPhoto { figure, photo }, &moment, paper)?;
        tell_late(shop, args, &sha256, paper)?;
    }
    let Some(last) = left.pop() else {
        return tell_missing(shop, args, paper);
    };
    for trouble in left {
        paper.note(&trouble.to_string());
    }
    Err(last)
}

/// Says beside the answer what is still missing of the same part.
fn tell_missing(
    shop: &Opened,
    args: &PhotoArgs,
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    let keeper = shop.told_keeper(Some(&args.figure), paper)?;
    let photos = photos(keeper.house(), &args.figure);
    let missing = photos.missing.iter().filter(|it| it.target == args.zone);
    for missing in missing {
        paper.note(&missing_words(missing));
    }
    Ok(ExitKind::Well)
}

/// Says of a picture of the record before that it came after the work had begun.
fn tell_late(
    shop: &Opened,
    args: &PhotoArgs,
    sha256: &str,
    paper: &mut Paper<'_>,
) -> Result<(), Trouble> {
    let keeper = shop.keeper()?;
    let photos = photos(keeper.house(), &args.figure);
    let late = photos.kept_as(sha256).and_then(|photo| photo.late);
    if let Some(late) = late {
        let day = shop.zone.show(late.began.to_utc()).format("%-d %B %Y");
        let camera = late_words(late);
        let part = args.zone.as_deref().unwrap_or("this figure");
        paper.note(&format!(
            "kept and marked: work on {part} began on {day}, before this was taken in; {camera}"
        ));
    }
    Ok(())
}

fn missing_words(missing: &PhotoMissing) -> String {
    let target = missing.target.as_deref().unwrap_or("the whole figure");
    let station = &missing.station;
    let how = if missing.said {
        "said to be taken, its file is not here yet"
    } else {
        "still to be taken"
    };
    format!("{target}: `{station}` is {how}")
}
