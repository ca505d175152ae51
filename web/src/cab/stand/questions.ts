// What the log cannot tell, asked one at a time and only while standing. An answer is an entry, as the
// desk writes it; it can be taken back.
import type { Question } from "../../core/words";
import type { Draft } from "../../keep/entry";
import { button, h, put, type Child } from "../dom";
import { openHere } from "../ahead";
import { kept } from "../gate/last";
import { isFailure } from "../reckon";
import { minute, size } from "../say";
import { cab, keeper } from "../state";
import { t } from "../words";
import { picture } from "./pictures";
import { sinceEntries, sinces, stopped } from "./since";
import { isTaken, takenBack } from "./taken";

/** The entry that answers a question. */
export function answerOf({ kind, from_ms, to_ms }: Question, answer: string, prompt: string, paddock: string | null, now_ms: number): Draft {
  const told = { t_ms: now_ms, from_ms, to_ms, ...(paddock === null ? {} : { paddock }) };
  if (kind === "blind" && (answer === "down" || answer === "up" || answer === "unsure")) return { ...told, kind: "blind", answer };
  return { ...told, kind: "say", about: kind, prompt, answer };
}

/** What is asked, in words. */
export function words({ kind, from_ms, to_ms }: Question): string {
  const known = t.stand.questions.asked[kind] ?? kind;
  return typeof known === "string" ? known : known(t.stand.seconds((to_ms - from_ms) / 1000));
}

let looked = -1;

/** The box of questions; `close` ends what it listens to. */
export function questionBox(): { body: HTMLElement; close: () => void } {
  const body = h("section", { class: "questions", id: "questions", "aria-live": "polite" });
  let open: readonly Question[] = [];
  let paddock: string | null = null;
  let note: Child[] = [];
  let gone = false;
  let looks = 0;

  const show = (): void => {
    if (!cab.get().standing) put(body, h("p", {}, t.stand.moving));
    else if (open[0] === undefined) put(body, ...note);
    else put(body, ...note, ...asked(open[0], open.length));
  };
  const asked = (question: Question, count: number): Child[] => {
    const prompt = words(question);
    const { answers, flow, oops } = t.stand.questions;
    const named = isTaken(question) ? oops : question.kind === "flow" ? flow : answers;
    const choice = (answer: string): HTMLElement => {
      const m2 = isTaken(question) ? 0 : (question.answers[answer] ?? 0);
      const sows = m2 < 1 ? null : h("span", { class: "under" }, t.stand.questions.sows(size(m2)));
      const text = h("span", { class: "text" }, named[answer] ?? answer, sows);
      const entries = (now_ms: number): readonly Draft[] => (isTaken(question) ? question.entries(answer, prompt, now_ms) : [answerOf(question, answer, prompt, paddock, now_ms)]);
      const act = (): void => void give(question, entries(Date.now()), named[answer] ?? answer);
      return button([picture(answer), text], act, { "data-answer": answer });
    };
    const [first, ...others] = Object.keys(question.answers).map(choice);
    return [
      h("h2", {}, t.stand.questions.title(count)),
      h("p", { class: "large" }, prompt),
      h("p", {}, t.stand.questions.when(minute(question.from_ms), minute(question.to_ms))),
      h("div", { class: "answers" }, first, between(question), others),
      h("p", {}, t.stand.questions.why),
    ];
  };
  /** Of seed that stopped unheard: for how long, between all the while and not at all. */
  const between = (question: Question): Child[] => {
    const times = sinces(question);
    if (times.length === 0) return [];
    const buttons = times.map(({ seconds, m2 }) => {
      const said = t.stand.questions.since(seconds);
      return button([said, h("span", { class: "under" }, size(m2))], () => void remember(question, seconds, `${t.stand.questions.unsown} ${said}`), { "data-since": seconds });
    });
    return [h("p", {}, t.stand.questions.unsown), h("div", { class: "pairs" }, buttons)];
  };
  const remember = async (question: Question, seconds: number, said: string): Promise<void> => {
    const pressed = stopped(await keeper().marks(question.from_ms).catch(() => []), question);
    if (pressed !== null) await give(question, sinceEntries(pressed, seconds, keeper().dev, Date.now()), said);
  };
  const give = async (question: Question, entries: readonly Draft[], said: string): Promise<void> => {
    if (!cab.get().standing) return show();
    try {
      const made: number[] = [];
      for (const entry of entries) made.push(await keeper().append(entry));
      const back = async (): Promise<void> => {
        for (const seq of made.slice().reverse()) await keeper().append({ kind: "undo", t_ms: Date.now(), of: seq });
        looks += 1;
        open = [question, ...open];
        note = [];
        show();
      };
      open = open.filter((each) => each !== question);
      if (!isTaken(question) && open.length === 0) void openHere(); // what the gate check will ask for, with the answers in it
      note = [h("p", { role: "status", class: "was" }, t.stand.questions.said(said)), button(t.stand.questions.undo, () => void back().catch(() => undefined))];
      if (isTaken(question)) return void look(note);
    } catch {
      note = [h("p", { role: "alert" }, t.stand.lost)];
    }
    show();
  };
  /** First when a press should have been that Oops took back: what else is asked hangs on it. */
  const look = async (said: Child[] = []): Promise<void> => {
    looks += 1;
    const mine = looks;
    const { last } = keeper().count();
    const { sums } = kept.get();
    const marks = await keeper().marks();
    if (gone || mine !== looks) return;
    note = said;
    open = takenBack(marks, keeper().dev);
    if (open.length > 0) return show();
    if (last !== looked || sums === null) {
      note = [...said, h("p", { role: "status" }, t.stand.questions.looking)];
      show();
      const found = await openHere();
      if (gone || mine !== looks) return;
      looked = last;
      if (!isFailure(found)) take(found.questions, found.paddock);
    } else take(sums.questions, sums.paddock?.id ?? null);
    note = open.length === 0 ? [...said, h("p", { role: "status" }, t.stand.questions.none)] : said;
    show();
  };
  const take = (questions: readonly Question[], id: string | null): void => {
    open = questions;
    paddock = id;
  };
  const ends = cab.watch(["standing"], show);
  void look();
  return {
    body,
    close: () => {
      gone = true;
      ends();
    },
  };
}
