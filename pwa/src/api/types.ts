/** Short names for what the server answers; the types themselves are generated from its OpenAPI document. */
import type { components } from "./schema";

type Schemas = components["schemas"];

export type Session = Schemas["SessionPage"];
export type Person = Schemas["PersonCard"];
export type Student = Schemas["StudentCard"];
export type Link = Schemas["LinkCard"];
export type NewLink = Schemas["NewLink"];
export type Assigned = Schemas["Assignment"];

export type Today = Schemas["TodayPage"];
export type TodayItem = Schemas["TodayItem"];
export type Plan = Schemas["PlanPage"];
export type PlannedDay = Schemas["PlannedDay"];

export type PieceCard = Schemas["PieceCard"];
export type Engraving = Schemas["EngravedPage"];
export type Quilt = Schemas["QuiltPage"];
export type QuiltSection = Schemas["QuiltSection"];
export type QuiltPatch = Schemas["QuiltPatch"];
export type PatchState = QuiltPatch["right"];
export type Drill = Schemas["DrillPage"];
export type Step = Schemas["Step"];
export type Decision = Schemas["Decision"];
export type Decisions = Schemas["DecisionsPage"];
export type Puzzle = Schemas["PuzzleCard"];
export type PuzzleOutcome = Schemas["PuzzleOutcome"];
export type Attempt = Schemas["AttemptCard"];
export type AttemptPage = Schemas["AttemptPage"];

export type Analysis = Schemas["AnalysisReport"];
export type Place = Schemas["ReportPlace"];
export type Subject = Schemas["ReportSubject"];
export type Statement = Schemas["ReportStatement"];
export type Section = Schemas["ReportSection"];
export type Suggestion = Schemas["ReportSuggestion"];
export type Corrections = Schemas["CorrectionsPage"];
export type Sheet = Schemas["SheetPage"];

export type Log = Schemas["LogPage"];
export type LoggedWeek = Schemas["LoggedWeek"];
export type LoggedDay = Schemas["LoggedDay"];
export type Brief = Schemas["BriefPage"];
export type WeakSpot = Schemas["WeakSpot"];

export type Hand = "right" | "left";
export type Hands = Hand | "both";
