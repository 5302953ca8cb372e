// What the modules' own comments call by name: traits, words, tables, settings, records.

/** Every fixed word a control shows, by its name. */
export type Words = Record<string, string>;

/** An answer that the kernel has acknowledged: by which page, its number in the file, its time. */
export interface Saved {
  value: unknown;
  client: string;
  seq: number;
  number: number;
  at: string;
  back?: boolean;
}

/** Where nothing is saved yet, a trait is an empty dictionary. */
export type MaybeSaved = Partial<Saved>;

export interface FeedbackLine {
  met: boolean;
  says: string;
  source?: string;
}

export interface Feedback {
  heading?: string;
  lines?: FeedbackLine[];
}

/** A picture that a question is answered from. */
export type Figure = StripFigure | GaugeFigure | RhythmFigure;

/** What stands on the page: its root, and how it ends where it must. */
export interface Shown {
  root: Element;
  dispose?: () => void;
}

export type ShowFigure = (figure: Figure, words: Words) => Shown;

/** What every control is given (workbook/widgets/control.py). */
export interface ControlTraits {
  question: string;
  label: string;
  help: string;
  figure: Figure | { kind?: undefined };
  words: Words;
  saved: MaybeSaved | undefined;
  lasts: boolean;
  read_only: boolean;
  can_check: boolean;
  feedback: Feedback | undefined;
}

/** What the kernel says of an answer. */
export interface Reply {
  kind: string;
  client?: string;
  seq?: number;
  number?: number;
  at?: string;
  back?: boolean;
  says?: string;
}

/** What the kernel gives of a setting's tables. */
export interface TablesReply {
  kind: string;
  key: string;
  tables: Tables;
}

type Heard<Message> = (message: Message) => void;

/** The page's side of a control: its traits by name, and what goes to and comes from the kernel. */
export interface Model<Traits> {
  get<Name extends keyof Traits>(name: Name): Traits[Name];
  on(event: "msg:custom", does: Heard<never>): void;
  on(event: `change:${string}`, does: () => void): void;
  off(event: "msg:custom", does: Heard<never>): void;
  off(event: `change:${string}`, does: () => void): void;
  send(message: object): void;
}

/** How the bench stands: clicks of each control, what the outlet is joined to, what is planted. */
export interface Setting {
  positions: Record<string, number>;
  outlet: Outlet;
  lung: string;
  fault: string;
}

export type Outlet = "capped" | "open" | "lung";

/** A law as points: [where, how much], both in rising order of where. */
export type Points = [number[], number[]];

/** A law as it comes, or as it is played already. */
export type Law = Points | import("./bench_player.js").PlayTable;

/** Laws of one setting by name; flows in mL/s by pressure in cmH2O; `store` in mL/cmH2O. */
export interface Tables {
  limb: Law;
  manometer: Law;
  relief?: Law;
  aperture: Law;
  covered: Law;
  outlet: Law;
  patient: Law;
  recoil: Law;
  store: number;
  joined: boolean;
}

export type TableName = Exclude<keyof Tables, "store" | "joined">;

/** Some laws of a setting, and what ends it. */
export type SomeTables = Partial<Record<TableName, Law>> & Pick<Tables, "store" | "joined">;

/** Laws of the circuit's parts, from which those of any setting are joined (workbook/bench/parts.py). */
export interface Parts {
  flow: [number, number];
  limb: Points;
  pip: Valve;
  relief: Valve;
  peep: [number, number];
  leak: number[];
  sharp: Points;
  store: [number, number];
}

/** Where a valve opens by its clicks, the click at which it is away, what it vents above. */
export interface Valve {
  opens: [number, number];
  away: number;
  vents: Points;
}

/** One row of a record of hands: [seconds, what was done] and, for a control, its click. */
export type HandRow = [number, string] | [number, string, number | string];

/** What hands did at the bench. */
export interface HandsRecord {
  format: "tpiece-hands";
  version: 1;
  duration: number;
  actions: HandRow[];
}

/** What flows where at a moment, in mL/s. */
export interface Flows {
  supply: number;
  limb: number;
  relief: number;
  pip: number;
  aperture: number;
  outlet: number;
  lung: number;
}

/** Volume in the lung (mL) and pressure at the T (cmH2O) at a bench time (s), and the next step. */
export interface PlayState {
  time: number;
  volume: number;
  pressure: number;
  stride: number;
}

/** A point of the past: a state, what the gauge showed, whether the hole was covered. */
export interface PlayPoint extends PlayState {
  manometer: number;
  held: boolean;
  done: number;
}

/** How everything stood before something was done. */
export interface PlayBefore {
  state: PlayState;
  held: boolean;
  setting: Setting;
  laws: import("./bench_player.js").PlayLaws;
}

/** Something that was done; `waits` names the setting whose tables have not come. */
export interface PlayEvent {
  time: number;
  kind: string;
  position: number | string | undefined;
  before: PlayBefore;
  waits: string | null;
}

/** What is seen of the bench now. */
export interface PlayView extends Setting {
  time: number;
  manometer: number;
  volume: number;
  held: boolean;
  flows: Flows;
}

declare global {
  /** What the whole page has not saved yet: a control's label by its client. */
  var tpieceUnsaved: Map<string, string> | undefined;
  /** Answers whose control went before they were saved, by their question. */
  var tpieceLeft: Map<string, unknown> | undefined;
  interface Window {
    /** Where JupyterLab looks for its extensions. */
    _JUPYTERLAB?: Record<string, unknown>;
  }
  /** Whether the benches of the page sound. */
  var tpieceNoise: import("./bench_sound.js").Noise | undefined;
  var tpieceGuard: ((event: BeforeUnloadEvent) => void) | undefined;
}

/** One axis of a plot; with a `count` it shows so many things side by side. */
export interface Axis {
  from: number;
  to: number;
  title: string;
  count?: number;
}

/** Where a plot's lines end, in pixels. */
export interface Box {
  left: number;
  right: number;
  top: number;
  foot: number;
}

/** A plot: its lines and numbers, and where a value of either axis stands in it. */
export interface Plot {
  parts: Element[];
  at: { x: (value: number) => number; y: (value: number) => number };
  box: Box;
}

/** A needle at a value of a scale up to `top`; it may tell the value as a number, too. */
export interface GaugeFigure {
  kind: "gauge";
  value: number;
  top: number;
  label?: string;
  unit?: string;
  minor?: number;
  hide_value?: boolean;
}

/** How a chest moves: volume (mL) at each moment of its strip, and the band of an easy breath. */
export interface ChestFigure {
  title: string;
  easy: string;
  says: string;
  band: [number, number];
  volume: number[];
  top: number;
}

/** Pressure (cmH2O) at each moment (s). */
export interface StripFigure {
  kind: "strip";
  title?: string;
  time: number[];
  pressure: number[];
  low?: number;
  high?: number;
  band?: [number, number] | [];
  unit?: string;
  says?: string;
  chest?: ChestFigure;
}

/** Inflations as [occluded at, released at], in seconds. */
export interface RhythmFigure {
  kind: "rhythm";
  title?: string;
  inflations: [number, number][];
  seconds?: number;
  says?: string;
}

/** Intervals against a band, in `unit`. */
export interface Intervals {
  title?: string;
  low: number;
  high: number;
  unit: string;
  intervals: number[];
  says?: string;
}

/** What a control is shown with, and what ends it. */
export type Render<Traits> = (given: { model: Model<Traits>; el: Element }) => () => void;

export interface Option {
  id: string;
  text: string;
}

export interface ChoiceTraits extends ControlTraits {
  options: Option[];
  many: boolean;
}

/** A metronome: inflations a minute, and how many beats of each the aperture is occluded or not. */
export interface Beats {
  rate: number;
  occlude_beats: number;
  release_beats: number;
}

/** An alarm, or somebody's question, from `at` until `until` (s). */
export interface Distraction {
  at: number;
  until?: number;
  says: string;
  sound?: boolean;
  options: Option[];
}

export interface TapsTraits extends ControlTraits {
  duration: number;
  metronome: Beats | { rate?: undefined } | undefined;
  distraction: Distraction | { options?: undefined } | undefined;
  picture: Intervals | undefined;
}

/** One row of a record of taps: [seconds, what the hand did]; "blur" where the window was left. */
export type TapRow = [number, "press" | "release" | "blur"];

/** What a hand did at the tapping button. */
export interface TapsRecord {
  format: "tpiece-taps";
  version: 1;
  duration: number;
  events: TapRow[];
  answered?: string;
  answered_at?: number;
}

/** What the picture of a bench shows of a moment; `before` is the volume an inflation met (mL). */
export interface BenchShown extends PlayView {
  restVolume: number;
  before?: number;
  weight: number;
  running: boolean;
  /** The first picture after a touch shows what the hand waits for. */
  first?: boolean;
  /** Share of the flow set that comes, where a fault takes some. */
  comes?: number;
}

/** The band in mL/kg between which a chest rises; none where nothing is said of it. */
export interface Chest {
  low?: number;
  high?: number;
}

/** How a heart rate goes (a minute, s); a breath counts from `enough` mL on. */
export interface HeartLaw {
  begins: number;
  least: number;
  waits: number;
  falls: number;
  rises: number;
  enough: number;
}

// --- the bench

/** A control to turn: its clicks, clicks of one whole turn, what a click comes to, its words. */
export interface Dial {
  clicks: number;
  turn: number;
  first: number;
  step: number;
  label: string;
  short: string;
  help: string;
  each: string;
  /** Positions that have words of their own. */
  says: Record<string, string>;
}

export type Dials = Record<string, Dial>;

/** Something that can be wrong; `comes` is the share of the flow set that still comes. */
export interface Fault extends Option {
  comes?: number;
  /** How it is mended, in words. */
  mend?: string;
}

/** What an educator may change in front of a room; empty at any other bench. */
export interface Educator {
  lungs?: Option[];
  faults?: Fault[];
  ask?: string;
}

/** A moment of a run at which something was found. */
export interface Moment {
  at: number;
  says: string;
}

export interface Needle {
  time: number[];
  pressure: number[];
}

/** A run beside an expert's, and where each finding lies in it. */
export interface Compared {
  own: Needle;
  expert: Needle;
  moments: Moment[];
}

/** How a bench stands before anything is done; `weight` in kg. */
export interface BenchStart {
  positions: Record<string, number>;
  outlet: Outlet;
  weight: number;
}

/** What every bench is given, a trial and a sentence too. */
export interface LiveTraits extends ControlTraits {
  start: BenchStart;
  rest: { volume: number; pressure: number; right: number };
  parts: Parts;
  tables: Tables;
  dials: Dials;
  outlets: Option[];
  limit: number;
  most: number;
  gauge_top: number;
  chest: Chest;
  goal: string;
}

export interface BenchTraits extends LiveTraits {
  offers: string[];
  educator: Educator;
  plays: boolean;
  feedback: (Feedback & { compare?: Compared }) | undefined;
}

/** What a chest does: a word for its last breath, how far it is up in the drawing, whether over. */
export interface Breath {
  word: string;
  up: number;
  over?: boolean;
}

/** A control that a hand has, and what locks it. */
export interface Lockable {
  locked?: boolean;
  lock(locked: boolean): void;
}

export interface Radios {
  root: HTMLElement;
  show(id: string): void;
  lock(locked: boolean): void;
}

/** A touch in the log; `was` is what the gauge showed just before it. */
export type ToldEvent = PlayEvent & { was: number };

/** An inflation: when it began, the gauge before it, and at its end where it has ended. */
export interface Inflation {
  from: number;
  low: number;
  high?: number;
}

/** What is drawn of the last seconds. */
export interface StripOptions {
  seconds?: number;
  now?: number;
  volume?: boolean;
}

// --- a number, a sketch, a sequence

export interface NumberTraits extends ControlTraits {
  units: string[];
  unit: string;
  gauge_top: number;
  /** How much of the gauge's scale one of a unit is. */
  per: Record<string, number>;
  feedback: (Feedback & { needle?: number }) | undefined;
}

/** What a strip is sketched on: times (s), where the hole is covered, the scale (cmH2O). */
export interface SketchGiven {
  times: number[];
  first: number[];
  covered: [number, number];
  top: number;
  step: number;
  start: Needle;
  start_says: string;
  true_says: string;
}

export interface SketchTraits extends ControlTraits {
  sketch: SketchGiven;
  feedback: (Feedback & { strip?: Needle }) | undefined;
}

export interface SequenceTraits extends ControlTraits {
  items: Option[];
  start: string[];
}

// --- a sentence with a number to move

export interface Stop {
  value: number;
  text: string;
  says: string;
  unit: string;
}

/** How the bench of a sentence stands; what its thumb does, in seconds. */
export interface Stands {
  positions: Record<string, number>;
  held: number;
  period: number;
}

/** What the kernel says of one value of the number. */
export interface StopTold {
  kind?: string;
  at: number;
  stands: Stands;
  tables: Tables;
  answers: Record<string, string>;
}

export interface SentencePlays {
  dials: Dials;
  top: number;
  chest: Chest;
  outlet: Outlet;
  weight: number;
  hand: "held" | "count" | "";
}

export interface SentenceTraits {
  words: Words;
  label: string;
  says: string;
  stops: Stop[];
  at: number;
  plays: SentencePlays;
  first: (StopTold & { rest: { volume: number; pressure: number } }) | undefined;
}

// --- a trial

/** A move that a hand can make: where, what it does, how long it takes. */
export interface Move extends Option {
  part: string;
  does: string;
  seconds: number;
}

export interface TrialTraits extends LiveTraits {
  moves: Move[];
  faults: Fault[];
  sure: Option[];
  heart_law: HeartLaw | { begins?: undefined };
  alarm: string;
}

/** One row of a trial: [milliseconds, move or touch] and what it named or where it turned. */
export type TrialRow = [number, string] | [number, string, string | number];

export interface TrialRecord {
  format: "tpiece-trial";
  version: 1;
  duration: number;
  moves: TrialRow[];
}

/** How the kernel says that the bench of a trial stands. */
export interface TrialState {
  positions: Record<string, number>;
  outlet: Outlet;
  done: string[];
}

/** What a move showed. */
export interface MoveTold {
  says?: string;
  rises?: boolean;
  float?: number;
  share?: number;
  state?: TrialState;
}

// --- a mask on a face

/** An oval part of the face: its middle and half its width and height (mm). */
export type Oval = [number, number, number, number];

/** What is drawn of a face; all in mm, `rim` a share of a mask's size, `notch` in degrees. */
export interface FaceGiven {
  length: number;
  step: number;
  turn_step: number;
  rim: number;
  notch: number;
  masks: number[];
  shapes: Record<"face" | "eye-left" | "eye-right" | "bridge" | "nose" | "mouth" | "chin", Oval>;
}

/** A mask's size, the place of its middle (mm), how far it is turned (degrees). */
export interface Mask {
  format: "tpiece-face";
  version: 1;
  mask: number;
  x: number;
  y: number;
  turn: number;
}

/** What the kernel says of a mask that was laid. */
export interface Placed {
  kind?: string;
  n?: number;
  where?: string[];
  fit?: { covers: boolean; spares_eyes: boolean; keeps_chin: boolean; seal: string; leak: boolean };
}

export interface FaceTraits extends ControlTraits {
  face: FaceGiven;
  live: string;
  placed: Placed;
}

// --- a case from birth

type CaseAct = import("./case_hands.js").Act;
type CaseRow = import("./case_hands.js").ActRow;

/** Something that can be done, at its part; what is said or typed with it. */
export interface OfferedAct extends CaseAct {
  part: string;
  says?: string;
}

/** What may be known before birth. */
export interface CaseTold {
  case: string;
  weeks: string;
  weight: string;
  positions: Record<string, number>;
  oxygen: number;
}

export interface CaseTraits extends LiveTraits {
  acts: OfferedAct[];
  lines: Option[];
  told: CaseTold;
  mode: "live" | "practice";
  /** Seconds for which beats are counted. */
  window: number;
  begins: { acts: CaseRow[]; at: number };
  arrives: boolean;
}

export interface CaseRecord {
  format: "tpiece-scenario";
  version: 1;
  case: string;
  duration: number;
  ended: "whole" | "midway";
  acts: CaseRow[];
}

/** What a learner says of a case before any finding shows. */
export interface DebriefSaid {
  at: number | null;
  act: string;
  well: string;
}

type Courses = import("./course_picture.js").Courses;

export interface DebriefTraits extends ControlTraits {
  acts: Option[];
  longest: number;
  course: Courses;
  can_again: boolean;
  arrives: boolean;
  feedback: (Feedback & { compare?: Courses }) | undefined;
}

/** An entry of a note: with a unit it is typed, else chosen. */
export interface NoteEntry {
  id: string;
  label: string;
  unit?: string;
  options: Option[];
}

export interface NoteTraits extends ControlTraits {
  entries: NoteEntry[];
  head: Record<string, unknown>;
}
