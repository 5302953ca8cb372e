// The pictures that a question can be answered from, by their kind.

import { gaugeFigure, stripFigure } from "./picture.js";
import { rhythmFigure } from "./rhythm.js";

const FIGURES = { strip: stripFigure, gauge: gaugeFigure, rhythm: rhythmFigure };

/** @type {import("./types.js").ShowFigure} */
export function showFigure(figure, words) {
  return FIGURES[figure.kind](figure, words);
}
