/* What the line is asked: six each, nothing twice, and the two that are the same are one shape. */

import assert from "node:assert/strict";
import { test } from "node:test";

import { EACH, questionsFor } from "../../static/floor/quiz/questions.js";

/* A generator with a fixed beginning (Park & Miller, Communications of the ACM 1988;31:1192). */
function numbers(seed) {
  let state = seed;
  return () => {
    state = (state * 16807) % 2147483647;
    return (state - 1) / 2147483646;
  };
}

const many = Array.from({ length: 200 }, (_, at) => questionsFor(numbers(104729 * (at + 1))));

test("a child is asked six, and no question twice", () => {
  for (const questions of many) {
    assert.equal(questions.length, EACH);
    assert.equal(new Set(questions.map(({ answer }) => answer)).size, EACH);
  }
});

test("of three figures the two that are named are the hollow, and the third is not", () => {
  const hollows = ["hollow", "second-flight", "rebound"];
  for (const { figures, same } of many.flat().filter(({ asks }) => asks === "same")) {
    assert.equal(figures.length, 3);
    assert.equal(same.length, 2);
    assert.deepEqual(
      figures.map((figure) => hollows.includes(figure)),
      [1, 2, 3].map((number) => same.includes(number)),
    );
  }
});

test("children are not all asked alike", () => {
  const orders = new Set(many.map((questions) => questions.map(({ answer }) => answer).join()));
  assert.ok(orders.size > 150);
});

test("every shape and every moment comes", () => {
  const answers = new Set(many.flat().map(({ answer }) => answer));
  assert.equal(answers.size, 6 + 6 + 1);
});
