//! What each stroke of a PDF belongs to (ISO 32000-1, 14.7 and 14.8): headings, paragraphs,
//! lists, tables and figures in the order in which they are read, so that the page can be read
//! aloud, reflowed and taken apart. What only decorates is marked as such.

use std::fmt::Write as _;

use super::pdf_file::{File, titled};

/// The kinds of elements that a page is made of (14.8.4).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Tag {
    /// The whole.
    Document,
    /// A part under a heading.
    Section,
    /// The title, the heading of a part, a heading within a part.
    Heading(u8),
    /// A paragraph.
    Paragraph,
    /// A list.
    List,
    /// One line of a list.
    ListItem,
    /// The sign before a line of a list.
    Label,
    /// The words of a line of a list.
    ListBody,
    /// A list of contents.
    Contents,
    /// One part in a list of contents.
    ContentsItem,
    /// A table.
    Table,
    /// What a table or a figure shows.
    Caption,
    /// A row of a table.
    Row,
    /// The head of a column.
    ColumnHead,
    /// The name before what is known in a row.
    RowHead,
    /// A cell of a table.
    Cell,
    /// A drawing or a photograph.
    Figure,
}

impl Tag {
    fn name(self) -> String {
        let name = match self {
            Self::Document => "Document",
            Self::Section => "Sect",
            Self::Heading(level) => return format!("H{level}"),
            Self::Paragraph => "P",
            Self::List => "L",
            Self::ListItem => "LI",
            Self::Label => "Lbl",
            Self::ListBody => "LBody",
            Self::Contents => "TOC",
            Self::ContentsItem => "TOCI",
            Self::Table => "Table",
            Self::Caption => "Caption",
            Self::Row => "TR",
            Self::ColumnHead | Self::RowHead => "TH",
            Self::Cell => "TD",
            Self::Figure => "Figure",
        };
        name.to_owned()
    }

    /// What a head is the head of (14.8.5.7).
    fn scope(self) -> &'static str {
        match self {
            Self::ColumnHead => " /A << /O /Table /Scope /Column >>",
            Self::RowHead => " /A << /O /Table /Scope /Row >>",
            _ => "",
        }
    }
}

#[derive(Debug)]
struct Element {
    tag: Tag,
    parent: Option<usize>,
    kids: Vec<Kid>,
    /// What a figure shows, for who cannot see it.
    says: Option<String>,
    /// Where a figure stands on its sheet: left, foot, right, head.
    frame: Option<[f64; 4]>,
}

#[derive(Debug)]
enum Kid {
    Element(usize),
    /// Strokes of a sheet, by the number under which they are marked there.
    Strokes {
        sheet: usize,
        mark: usize,
    },
}

/// The elements of a document on their way into a file.
#[derive(Debug)]
pub(super) struct Tree {
    elements: Vec<Element>,
    /// The element that the next strokes belong to.
    at: usize,
    /// For every sheet the elements of its marks.
    marks: Vec<Vec<usize>>,
}

impl Tree {
    /// Returns a tree that is a document and nothing in it.
    pub(super) fn new() -> Self {
        let document = Element {
            tag: Tag::Document,
            parent: None,
            kids: Vec::new(),
            says: None,
            frame: None,
        };
        Self {
            elements: vec![document],
            at: 0,
            marks: Vec::new(),
        }
    }

    /// Adds an element to the one that is open and returns its number.
    pub(super) fn add(&mut self, tag: Tag, says: Option<&str>) -> usize {
        let number = self.elements.len();
        self.elements.push(Element {
            tag,
            parent: Some(self.at),
            kids: Vec::new(),
            says: says.map(|says| crate::report::harmless(says).into_owned()),
            frame: None,
        });
        if let Some(open) = self.elements.get_mut(self.at) {
            open.kids.push(Kid::Element(number));
        }
        number
    }

    /// Says where the open element stands on its sheet: left, foot, right, head, points.
    pub(super) fn frame(&mut self, frame: [f64; 4]) {
        if let Some(open) = self.elements.get_mut(self.at) {
            open.frame = Some(frame);
        }
    }

    /// Opens an element: what comes belongs to it.
    pub(super) fn open(&mut self, number: usize) {
        self.at = number;
    }

    /// Closes the element that is open.
    pub(super) fn close(&mut self) {
        let open = self.elements.get(self.at);
        self.at = open.and_then(|it| it.parent).unwrap_or_default();
    }

    /// Returns strokes of a sheet, marked as the open element's.
    pub(super) fn marked(&mut self, sheet: usize, strokes: &str) -> String {
        if self.marks.len() <= sheet {
            self.marks.resize_with(sheet + 1, Vec::new);
        }
        let Some(marks) = self.marks.get_mut(sheet) else {
            return strokes.to_owned();
        };
        let mark = marks.len();
        marks.push(self.at);
        let Some(open) = self.elements.get_mut(self.at) else {
            return strokes.to_owned();
        };
        open.kids.push(Kid::Strokes { sheet, mark });
        let name = open.tag.name();
        format!("/{name} << /MCID {mark} >> BDC\n{strokes}EMC\n")
    }

    /// Puts all elements into a file whose sheets have these numbers; returns the root's.
    pub(super) fn put(&self, file: &mut File, sheets: &[usize]) -> usize {
        let root = file.keep();
        let numbers: Vec<usize> = self.elements.iter().map(|_| file.keep()).collect();
        let number = |element: usize| numbers.get(element).copied().unwrap_or(root);
        for (element, own) in self.elements.iter().zip(&numbers) {
            let parent = element.parent.map_or(root, number);
            let mut entry = format!(
                "<< /Type /StructElem /S /{} /P {parent} 0 R{}",
                element.tag.name(),
                element.tag.scope()
            );
            if let Some(says) = &element.says {
                let _cannot_fail = write!(entry, " /Alt {}", titled(says));
            }
            if let Some(frame) = element.frame {
                let [left, foot, right, head] = frame;
                // 14.8.5.4.3: a figure says where it stands.
                let _cannot_fail = write!(
                    entry,
                    " /A << /O /Layout /Placement /Block \
                     /BBox [{left:.2} {foot:.2} {right:.2} {head:.2}] >>"
                );
            }
            entry.push_str(" /K [");
            for kid in &element.kids {
                let _cannot_fail = match kid {
                    Kid::Element(kid) => write!(entry, " {} 0 R", number(*kid)),
                    Kid::Strokes { sheet, mark } => {
                        let page = sheets.get(*sheet).copied().unwrap_or_default();
                        write!(entry, " << /Type /MCR /Pg {page} 0 R /MCID {mark} >>")
                    }
                };
            }
            entry.push_str(" ] >>");
            file.put(*own, entry);
        }
        let parents = self.parents(file, number);
        file.put(
            root,
            format!(
                "<< /Type /StructTreeRoot /K {} 0 R /ParentTree {parents} 0 R \
                 /ParentTreeNextKey {} >>",
                number(0),
                sheets.len()
            ),
        );
        root
    }

    /// From the marks of every sheet back to their elements (14.7.4.4).
    fn parents(&self, file: &mut File, number: impl Fn(usize) -> usize) -> usize {
        let mut entries = String::from("<< /Nums [");
        for (marks, sheet) in self.marks.iter().zip(0_usize..) {
            let marks = marks
                .iter()
                .map(|element| format!("{} 0 R", number(*element)));
            let marks: Vec<String> = marks.collect();
            let _cannot_fail = write!(entries, " {sheet} [{}]", marks.join(" "));
        }
        entries.push_str(" ] >>");
        file.add(entries)
    }
}

/// Returns strokes that belong to nothing that is read: rules, patches (14.8.2.2).
pub(super) fn artifact(strokes: &str) -> String {
    format!("/Artifact BMC\n{strokes}EMC\n")
}

/// Returns strokes that stand at the foot of every sheet (14.8.2.2.2).
pub(super) fn at_the_foot(strokes: &str) -> String {
    format!("/Artifact << /Type /Pagination /Subtype /Footer >> BDC\n{strokes}EMC\n")
}
