//! The one test program. `tidy` fails if a file of this folder is not listed here.
mod checklist_ways;
mod checklists;
