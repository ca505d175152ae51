// What the log cannot tell: one question at a time, with what each answer would call sown.
import { button, h, type Child } from "../dom";
import type { Question } from "../nouns";
import * as say from "../say";
import { t } from "../words";

export interface QuestionActs {
  answer(question: Question, word: string): void;
  show(question: Question): void;
}

/** The questions as a panel; the first one leads the page, unless something else does (`second`). */
export function questionList(questions: readonly Question[], busy: boolean, second: boolean, acts: QuestionActs): Child {
  if (!questions.length) return null;
  return h(
    "section",
    { class: "panel lead", "aria-labelledby": "questions-title" },
    h("h2", { id: "questions-title" }, t.questions.title(questions.length)),
    h("p", {}, t.questions.why),
    h("ol", { class: "questions" }, questions.map((question, index) => one(question, index === 0 && !second, busy, acts))),
  );
}

function one(question: Question, first: boolean, busy: boolean, acts: QuestionActs): HTMLElement {
  const asked = t.questions.asked[question.kind];
  const metres = /(\d+) m\b/.exec(question.text)?.[1];
  return h(
    "li",
    { class: "question" },
    h("p", {}, h("strong", {}, asked ? asked(say.duration(question.to_ms - question.from_ms), metres ? say.distance(Number(metres)) : "") : question.text)),
    h("p", {}, t.questions.when(say.clock(question.from_ms), say.clock(question.to_ms)), " ", button(t.questions.see, () => acts.show(question), { id: `see-${question.number}` }, "quiet")),
    h(
      "div",
      { class: "row" },
      Object.entries(question.answers).map(([word, m2], index) =>
        button(
          [h("span", {}, t.questions.answer(word)), m2 !== null && m2 >= 0.5 && h("span", { class: "under" }, t.questions.sows(say.size(m2)))],
          () => acts.answer(question, word),
          { id: `answer-${question.number}-${word}`, disabled: busy },
          first && index === 0 ? "first" : "plain",
        ),
      ),
    ),
  );
}
