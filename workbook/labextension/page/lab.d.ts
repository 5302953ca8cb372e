// What these modules ask of JupyterLab, and what the room's server tells them.

import type { Lab as Server } from "./build.js";
import type { Room } from "./room.js";

export type Words = ReturnType<typeof import("./words.js").wordsIn>;
/** A text in the language of a page. */
export type Translate = (text: string) => string;

// --- JupyterLab

type Slot<Args> = (sender: unknown, args: Args) => unknown;

export interface Signal<Args> {
  connect(slot: Slot<Args>, self?: unknown): unknown;
  disconnect(slot: Slot<Args>, self?: unknown): unknown;
}

export interface Widget {
  node: HTMLElement;
  id: string;
  title: { label: string };
  isDisposed: boolean;
  isVisible: boolean;
  disposed: Signal<void>;
  parent: { fit(): void } | null;
  onActivateRequest(message: unknown): void;
  addClass(name: string): void;
  removeClass(name: string): void;
  toggleClass(name: string, on: boolean): unknown;
  hasClass(name: string): boolean;
  hide(): void;
  setHidden(hidden: boolean): void;
}

/** What stands in front tells its address by this. */
export interface Shown extends Widget {
  context?: { path: string };
}

export interface Cell extends Widget {
  model: { type: string; sharedModel: { getSource(): string } };
  readOnly: boolean;
  syncEditable: boolean;
  showEditorForReadOnly?: boolean;
}

export interface SharedCell {
  cell_type: string;
  getSource(): string;
}

export interface NotebookModel {
  dirty: boolean;
  stateChanged: Signal<{ name: string; newValue: unknown }>;
  sharedModel: { cells: readonly SharedCell[]; getMetadata(name: string): unknown };
}

export interface Notebook extends Widget {
  widgets: Cell[];
  notebookConfig: { windowingMode: string } & Record<string, unknown>;
  modelContentChanged: Signal<unknown>;
  viewportNode: HTMLElement;
  outerNode: HTMLElement;
}

export interface Message {
  header: { msg_type: string; session: string };
  parent_header: { session?: string };
  content: Record<string, unknown>;
}

/** What code that was sent to a kernel says while it runs, and in the end. */
export interface Asked {
  onIOPub(message: { content: { name?: string; text?: string } }): void;
  done: Promise<{ content: { status: string; ename?: string; evalue?: string } }>;
}

export interface Kernel {
  status: string;
  connectionStatus: string;
  clientId: string;
  reconnect(): Promise<void>;
  requestKernelInfo(): Promise<Message>;
  requestExecute(content: object): Asked;
}

export interface KernelChange {
  oldValue: Kernel | null;
  newValue: Kernel | null;
}

export interface Session {
  session: { kernel: Kernel | null } | null;
  isReady: boolean;
  ready: Promise<void>;
  prevKernelName: string;
  kernelPreference: { name?: string };
  sessionManager: { refreshRunning(): Promise<void> };
  statusChanged: Signal<string>;
  kernelChanged: Signal<KernelChange>;
  connectionStatusChanged: Signal<string>;
  iopubMessage: Signal<Message>;
  restartKernel(): Promise<void>;
  changeKernel(options: { name?: string }): Promise<unknown>;
}

/** A page that is open: a notebook with its bar and its kernel. */
export interface Panel extends Widget {
  content: Notebook;
  model: NotebookModel;
  context: { path: string; localPath: string; ready: Promise<void> };
  sessionContext: Session;
  contentHeader: { addWidget(widget: Widget): void };
  toolbar: Widget;
  /** Private to JupyterLab. */
  _onSessionStatusChanged: Slot<string>;
}

export interface Tracker {
  currentWidget: Panel | null;
  currentChanged: Signal<Panel | null>;
  widgetAdded: Signal<Panel>;
  forEach(does: (panel: Panel) => void): void;
}

export interface FileModel {
  content: string;
}

export interface Contents {
  get(path: string, options: object): Promise<FileModel>;
  getDownloadUrl(path: string): Promise<string>;
}

export interface Commands {
  addCommand(id: string, about: {
    label: () => string; execute: () => unknown; isEnabled: () => boolean;
  }): void;
  addKeyBinding(about: { command: string; keys: string[]; selector: string }): void;
  isEnabled(id: string): boolean;
  execute(id: string, about?: object): Promise<unknown>;
}

export interface Shell {
  mode: string;
  layout: Iterable<Widget>;
  currentChanged: Signal<{ newValue: Shown | null }>;
  add(widget: Widget, area: string, options?: { activate: boolean }): void;
  activateById(id: string): void;
  collapseLeft(): void;
  collapseRight(): void;
  restoreLayout(mode: string, keeper: object, options: object): unknown;
}

export interface App {
  commands: Commands;
  shell: Partial<Shell>;
  restored: Promise<unknown>;
  started: Promise<unknown>;
  serviceManager: { contents: Contents; sessions: { refreshRunning(): Promise<void> } };
}

export interface Palette {
  addItem(about: { command: string; category: string }): void;
}

export interface DialogButton {
  accept: boolean;
  actions: string[];
}

export interface DialogKind {
  new (about: {
    title: string; body: Widget; buttons: DialogButton[]; defaultButton: number;
  }): Widget & { launch(): Promise<{ button: DialogButton }> };
  createButton(about: object): DialogButton;
  cancelButton(about: { label: string }): DialogButton;
  okButton(about: { label: string }): DialogButton;
}

export interface Plugin {
  id: string;
  description: string;
  autoStart: boolean;
  requires?: unknown[];
  optional?: unknown[];
  provides?: unknown;
  activate: (app: App, ...wanted: never[]) => unknown;
}

/** What remoteEntry.js gathers of JupyterLab's libraries. */
export interface Libraries extends Server {
  PageConfig: { getOption(name: string): string; getBaseUrl(): string };
  URLExt: Server["URLExt"] & { encodeParts(path: string): string };
  Widget: new (options?: { node: HTMLElement }) => Widget;
  Dialog: DialogKind;
  NotebookActions: {
    runCells(notebook: Notebook, cells: Cell[], session: Session): Promise<boolean>;
    executionScheduled: Signal<{ notebook: Notebook }>;
  };
  WindowResolver: new () => { resolve(name: string): Promise<void> };
  INotebookTracker: unknown;
  ICommandPalette: unknown;
  ILabShell: unknown;
  IDocumentManager: unknown;
  IDocumentManagerDialogs: unknown;
  IWindowResolver: unknown;
  IConnectionLost: unknown;
}

export interface Housed extends Libraries {
  /** The learner's room, where this page is one. */
  room: Room | null;
}

export interface Lab extends Housed {
  app: App;
  palette: Palette | null;
}

// --- what the server tells

/** Where to read of something: a page and a heading in it. */
export interface Place {
  page: string;
  heading: string;
}

/** What was found in an answer; `at` is its second in the run. */
export interface Found {
  met: boolean;
  grave: "" | "hands" | "act" | "others";
  says: string;
  belief: { believes: string; true: string; read: Place[] } | null;
  rule: string;
  source: string;
  at: number | null;
  trace: [number, number][];
}

/** Pressure (cmH2O) at each moment (s). */
export interface Course {
  time: number[];
  pressure: number[];
}

export interface Run extends Course {
  expert?: Course | null;
}

export interface Point {
  time: number;
  pressure: number;
}

export interface Question {
  id: string;
  asks: string;
  said: string;
  earned: number;
  possible: number;
  found: Found[];
}

export type Standing = "ready" | "not-yet" | "unsafe" | "unmarked";

/** Nothing that can be shown came back, and why. */
export interface Trouble {
  trouble: string;
  language?: string;
}

/** What came back of a unit. */
export interface Told {
  title: string;
  language: string;
  standing: Standing;
  earned: number;
  possible: number;
  says: string;
  next: string;
  read: Place[];
  notes: string[];
  questions: Question[];
  runs: Record<string, Run>;
  attempt: number;
  attempt_now: number;
  same: boolean;
  better: boolean;
  changed: string[];
  handed_in: string;
}

export interface HomePage {
  path: string;
  title: string;
  minutes: number;
  answered: number;
  asked: number;
  trouble?: string;
}

/** A line of a result on the home page. */
export interface Back {
  path: string;
  standing: Standing;
  earned: number;
  possible: number;
  says: string;
  next: string;
  earlier?: boolean;
  better?: boolean;
  trouble?: string;
}

export interface ExercisePage extends HomePage {
  handed_in: string;
  changed: boolean;
  waits: boolean;
  result: Back | null;
}

export interface HomeUnit {
  number: string;
  name: string;
  lesson: HomePage | null;
  exercise: ExercisePage | null;
}

export interface HomeTold {
  course: string;
  learner: string;
  due: string;
  language: string;
  /** The path of the page to go to, or of a result. */
  next: string;
  to_send: string;
  start: HomePage | null;
  units: HomeUnit[];
  more: HomePage[];
}
