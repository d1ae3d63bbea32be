//! What a hand can mean by a key or a touch, and where.

use super::view::Page;

/// What a key or a touch means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Act {
    /// The one next act.
    Next,
    /// Picks a row, from 1.
    Pick(u8),
    /// Shows the next rows of a long list.
    More,
    /// Types a figure or a point of a number.
    Type(char),
    /// Types a letter of a text.
    Letter(char),
    /// Takes the last figure or letter back.
    Rub,
    /// Turns to a screen.
    Turn(Page),
    /// Strikes the last act.
    Strike,
    /// Explains the screen in front.
    Help,
    /// Says who is at the bench.
    Who,
    /// Enters a reading of the air.
    Air,
    /// Says that something is wrong.
    Problem,
    /// Shows the figures of the floor in another order.
    Order,
    /// Seeks figures on the floor by words.
    Find,
    /// Offers what to do next.
    WhatNext,
    /// Goes to another figure or operation.
    Go,
    /// Passes a gate against its verdict.
    Overrule,
    /// Does it before its wait is over.
    Early,
    /// Takes the readings of the step anew.
    ReadAgain,
    /// Leaves a record out.
    Leave,
    /// Throws the cup away.
    Discard,
    /// Takes the next place under test.
    NextPlace,
    /// Says a test word at a place.
    Say {
        /// Place, from 0.
        place: u8,
        /// Word, from 0.
        word: u8,
    },
    /// Puts off the alarm of something that is waited for.
    PutOff,
    /// Plans the night with another size.
    Size,
    /// Plans the night with another number of gilders.
    Hands,
    /// Lets a lot's own times replace its sheet.
    Lots,
    /// Yes.
    Yes,
    /// No.
    No,
    /// The next leaf of the Dossier.
    NextLeaf,
    /// The leaf before it.
    LeafBefore,
    /// A leaf of the Dossier, from 0.
    Leaf(u8),
    /// What the map is marked by.
    Mark,
    /// The next side of the figure.
    Side,
    /// The next part, plot or exposure.
    NextPart,
    /// The one before it.
    PartBefore,
    /// A part of the figure, from 0.
    Part(u8),
    /// A row of the supervisor's page, from 0.
    Row(u16),
    /// Narrows the page to a figure or a person.
    Only,
    /// One row up.
    Up,
    /// One row down.
    Down,
    /// One page up.
    FarUp,
    /// One page down.
    FarDown,
    /// Closes what lies over the screen.
    Back,
    /// Leaves the program.
    Quit,
}

/// Where a key counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Place {
    /// On every screen.
    Everywhere,
    /// While an alarm rings.
    Alarm,
    /// At the bench.
    Bench,
    /// In the Dossier.
    Dossier,
    /// On the floor.
    Floor,
    /// Where rows are picked.
    Rows,
    /// Where a number is asked for.
    Number,
    /// At a shut gate.
    Gate,
    /// At something to take down.
    Record,
    /// Over a cup.
    Cup,
    /// At a wait.
    Wait,
    /// At test words.
    Test,
    /// Where a batch is chosen.
    Batch,
    /// On the Day.
    Day,
    /// On the screen of the night.
    Night,
    /// Where lots are planned with or run.
    Lots,
    /// On long pages.
    Long,
    /// At a question.
    Question,
    /// In a line of text.
    Text,
}

impl Place {
    /// Returns its words, for help and readme.
    pub fn words(self) -> &'static str {
        match self {
            Self::Everywhere => "everywhere",
            Self::Alarm => "while an alarm rings",
            Self::Bench => "Bench",
            Self::Dossier => "Dossier",
            Self::Floor => "Floor",
            Self::Rows => "where rows are numbered",
            Self::Number => "where a number is asked for",
            Self::Gate => "at a shut gate",
            Self::Record => "at something to take down",
            Self::Cup => "over a cup",
            Self::Wait => "at a wait",
            Self::Test => "at test words",
            Self::Batch => "at a batch",
            Self::Day => "Day",
            Self::Night => "Night",
            Self::Lots => "on Clocks and Night",
            Self::Long => "on long pages",
            Self::Question => "at a question",
            Self::Text => "in a line of text",
        }
    }
}
