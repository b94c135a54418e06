import assert from "node:assert/strict";
import { test } from "node:test";

import { nextHome, pictureOf, show } from "../../rhythmlab/panels/stage/picture.mjs";

const two = [{ home: "the 7" }, { home: "the 4" }];

test("home goes round from the last pulse to the first, and flipping as often as there are homes returns", () => {
  assert.equal(nextHome(0, 2), 1);
  assert.equal(nextHome(1, 2), 0);
  assert.equal(nextHome(nextHome(nextHome(1, 3), 3), 3), 1);
  assert.equal(nextHome(0, 0), 0);
});

test("there is always a picture to show while there is any, and none when there is none", () => {
  assert.equal(pictureOf(two, 1).home, "the 4");
  assert.equal(pictureOf(two, 5).home, "the 4");
  assert.equal(pictureOf(two, -1).home, "the 7");
  assert.equal(pictureOf([], 0), null);
  assert.equal(pictureOf(undefined, 0), null);
});

test("a picture that is already there is not put there again", () => {
  let written = 0;
  const figure = { set innerHTML(_) { written += 1; } };
  const words = { replaceChildren: () => {} };
  const picture = { svg: "<svg></svg>", said: [] };
  show(picture, figure, words);
  show(picture, figure, words);
  assert.equal(written, 1);
  show({ svg: "<svg id='b'></svg>", said: [] }, figure, words);
  assert.equal(written, 2);
});
