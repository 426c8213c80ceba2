//! Every file that Obliquity reads and writes: scenarios, site boundaries, reports, set-up cards and exports.
//!
//! Nothing here works out a figure: outcomes come from `obliquity-planning` and are only put into words and formats.
//! A file that cannot be read gives a [`FileError`] that names the file, the place and the mend.

mod boundary;
mod card;
mod cells;
pub mod chart;
mod entry;
mod error;
mod export;
mod files;
mod footprints;
mod frame;
mod lesson;
mod log;
mod money_text;
mod output;
mod own;
mod portfolio;
mod prj;
mod raster;
mod report;
mod scenario;
mod slots;
mod spreadsheet;
mod stamp;
mod table;
mod underlay;
mod units;

pub use boundary::{BoundaryChoice, first_take_off, parse_boundaries, read_boundaries, site_from_boundary};
pub use card::{
    Card, CardColumn, CardFigure, CardFit, CardKey, CardPass, CardReport, CardSheet, CardSketch, CardSortie,
    PaperSize, set_up_card, sheet,
};
pub use entry::{EntryField, EntryKind, Misread, written};
pub use error::{FileError, FileErrorKind, FileFault, Place};
pub use export::{ExportError, ExportTo, Exported, ViewRows, check_export, export_strategy};
pub use footprints::{FootprintArea, FootprintFile, FootprintPoint, read_footprints};
pub use frame::LocalFrame;
pub use lesson::{
    Answers, AnswersRead, ClassCell, ClassRow, ClassStep, ClassSummary, NotTaken, Secret, asked_unit,
    class_csv, class_json, class_summary, class_text, figure_text, guess_field, is_lesson, is_lesson_file,
    lesson_json, lesson_mark, lesson_text, off_text, parse_answers, parse_lesson, question_text,
    read_answers_folder, read_lesson, read_stamped_lesson, save_answers, save_lesson, settings_text,
    strategy_name, tolerance_text, write_answers, write_lesson,
};
pub use log::{
    CellFault, Cells, LogColumn, LogKind, LogSheet, MOST_LOGGED, is_log_file, parse_flights,
    parse_processed_jobs, planned_cells, processed_job_columns, read_flights, read_log, read_processed_jobs,
    save_log,
};
pub use money_text::{lever_text, lever_value, nearest_turn_text, swing_matters, switching_text};
pub use obliquity_planning::wording::{count, short};
pub use obliquity_planning::{GsdUnit, Scale, Unit, Units};
pub use output::{Output, OutputKind, Replace};
pub use own::{
    BlocksChoice, KeptWork, Leftover, LockHolder, LockTaken, MOST_RECENT, PanelWidths, Preferences,
    ThemeChoice, UnsavedKind, UnsavedNote, UnsavedPlace, UnsavedWork, WindowLock, WindowPlace,
    parse_preferences, read_library, read_preferences, read_unsaved, remove_unsaved, save_library,
    save_preferences, unsaved_left, write_preferences,
};
pub use portfolio::{
    PortfolioRead, is_portfolio, is_portfolio_file, parse_portfolio, portfolio_beside, portfolio_of_texts,
    read_job_scenario, read_portfolio, save_portfolio, write_portfolio,
};
pub use raster::{RasterFrame, TerrainFor, TerrainImport, parse_terrain, read_terrain, utm_zone};
pub use report::{
    LineRow, MoneyStep, MoneyTerm, NOT_ADVICE, SPREAD_SEED, StepRow, TermRow, VALUES_TABLE, binds_text,
    break_even_text, calibrated, calibrated_text, calibration_json, calibration_text, charts_csv,
    comparison_csv, comparison_json, correction_rows, cut_csv, factor_text, flown_json, flown_text,
    foremost_text, free_name, freed_text, handout, interval_text, left_out_text, looked_brief, looked_text,
    misses_text, mix_text, not_flown_text, not_told, payback_text, purchase_json, purchase_sentence,
    purchase_text, purchase_working, rates_to_set, revealed_text, setting_text, sweep_csv, sweep_json,
    tune_csv, tune_json, turned_text, working_lines, working_signs, working_steps, working_text,
};
pub use scenario::{
    FORMAT, parse_equipment, parse_library, parse_scenario, read_scenario, read_stamped_scenario,
    save_scenario, save_stamped_scenario, write_library, write_scenario,
};
pub use slots::Slots;
pub use spreadsheet::purchase_xlsx;
pub use stamp::FileStamp;
pub use table::{parse_table, read_table};
pub use underlay::{
    MOST_SHOWN_PX, Picture, PictureError, PictureHead, PictureTile, UnderlayFound, UnderlayMap,
    find_underlay, is_picture, look_at_picture, read_picture,
};
pub use units::compass_name;
