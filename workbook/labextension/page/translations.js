// What words.js says in other languages. Written by: python -m tests.page_words
export const LANGUAGES = {
  "es": {
    "direction": "ltr",
    "texts": {}
  }
};
