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
  on(event: "msg:custom", does: Heard<Reply> | Heard<TablesReply>): void;
  on(event: `change:${string}`, does: () => void): void;
  off(event: "msg:custom", does: Heard<Reply> | Heard<TablesReply>): void;
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
