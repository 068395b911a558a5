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
export type Fingering = Schemas["FingeringPage"];
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

export type Place = Schemas["ReportPlace"];
export type SubjectFound = Schemas["ReportSubject"];
export type Section = Schemas["ReportSection"];

/** The report allows further keys; these are the ones the page reads. */
export type StatementFound = Schemas["ReportStatement"] & { missing?: "head" | "tail" | null };
export type SuggestionFound = Schemas["ReportSuggestion"] & { id: string; notes: string[] };
export type CountCell = {
  kind: string;
  time: number;
  section: string;
  statements: number;
  upright: number;
  inverted: number;
  right: number;
  left: number;
  key: string;
  sequence: "rising" | "falling" | null;
};
export type Finding = Schemas["FindingCard"];

export type Analysis = {
  statements: StatementFound[];
  suggestions: SuggestionFound[];
  no_subject_reason: string;
  count_table: CountCell[];
  warnings: string[];
} & Schemas["AnalysisReport"];

export type Corrections = Schemas["CorrectionsPage"];
export type Sheet = { analysis: Analysis } & Schemas["SheetPage"];

export type Log = Schemas["LogPage"];
export type LoggedWeek = Schemas["LoggedWeek"];
export type LoggedDay = Schemas["LoggedDay"];
export type Brief = Schemas["BriefPage"];
export type WeakSpot = Schemas["WeakSpot"];

export type Hand = "right" | "left";
export type Hands = Hand | "both";
