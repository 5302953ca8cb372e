// The pictures that a question can be answered from, by their kind.

import { gaugeFigure, stripFigure } from "./picture.js";
import { rhythmFigure } from "./rhythm.js";

/** @import { ShowFigure } from "./types.js" */

/** @type {Record<string, ShowFigure>} */
const FIGURES = {
  strip: /** @type {ShowFigure} */ (stripFigure),
  gauge: /** @type {ShowFigure} */ (gaugeFigure),
  rhythm: /** @type {ShowFigure} */ (rhythmFigure),
};

/** @type {ShowFigure} */
export function showFigure(figure, words) {
  return FIGURES[figure.kind](figure, words);
}
