//! The farm and the plan in the files of other programs: a calendar, a workbook of a plan, and the tables as a workbook,
//! there and back.
//!
//! Everything here turns an instance, a plan or a folder of texts into bytes or the other way round; reading and writing
//! files is the caller's. Names are the planner's and may hold anything a cell may hold, so nothing is pasted into a
//! syntax: libraries escape, and text in a workbook is a text cell, never a formula. The same input gives the same bytes;
//! what a format wants to know of the moment of writing is told from the farm's start.
//!
//! [`calendar`] writes shifts and shipments; [`plan_workbook`] the plan with its chart; [`tables_workbook`] the tables of
//! an instance and reads them back; [`style`] holds what both workbooks look like.

pub mod calendar;
pub mod plan_workbook;
pub mod style;
pub mod tables_workbook;
