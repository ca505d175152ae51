// What the log cannot tell: one question at a time, with what each answer would call sown.
import { button, h, type Child } from "../dom";
import type { Question, TakenBack } from "../nouns";
import * as say from "../say";
import { t } from "../words";

export interface QuestionActs {
  answer(question: Question, word: string): void;
  when(taken: TakenBack, word: string): void;
  show(span: Pick<Question, "from_ms" | "to_ms">): void;
}

/** The questions as a panel; the first one leads the page, unless something else does (`second`). */
export function questionList(questions: readonly Question[], taken: readonly TakenBack[], busy: boolean, second: boolean, acts: QuestionActs): Child {
  const count = questions.length + taken.length;
  if (count === 0) return null;
  return h(
    "section",
    { class: "panel lead", "aria-labelledby": "questions-title" },
    h("h2", { id: "questions-title" }, t.questions.title(count)),
    h("p", {}, t.questions.why),
    h(
      "ol",
      { class: "questions" },
      // first when a press should have been: what else is asked hangs on it
      taken.map((each, index) => oneTaken(each, index === 0 && !second, busy, acts)),
      questions.map((question, index) => one(question, index + taken.length === 0 && !second, busy, acts)),
    ),
  );
}

function oneTaken(taken: TakenBack, first: boolean, busy: boolean, acts: QuestionActs): HTMLElement {
  const id = `${taken.dev}-${taken.seq}`;
  return h(
    "li",
    { class: "question" },
    h("p", {}, h("strong", {}, t.questions.taken[taken.lever])),
    h("p", {}, t.questions.when(say.clock(taken.from_ms), say.clock(taken.to_ms)), " ", button(t.questions.see, () => acts.show(taken), { id: `see-${id}` }, "quiet")),
    h(
      "div",
      { class: "row" },
      Object.keys(taken.answers).map((word, index) =>
        button(t.questions.oops(word), () => acts.when(taken, word), { id: `oops-${id}-${word}`, disabled: busy }, first && index === 0 ? "first" : "plain"),
      ),
    ),
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
