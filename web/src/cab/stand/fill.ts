// A fill: product and amount by large steps, what was in the bin before, and the balance that runs on from it.
import { button, h, put, type Child } from "../dom";
import { askedHere, join } from "../ahead";
import { bins } from "../bins";
import { choices, choose } from "../choices";
import { kept } from "../gate/last";
import { type Page, pageOf } from "../route";
import { minute } from "../say";
import { keeper } from "../state";
import { unitOf, type PRODUCTS } from "../stock";
import type { Bin } from "../sums";
import { t } from "../words";
import { driving } from "../work/driving";
import { areaLines, binLines, known, timeLines } from "./bins";
import { Note } from "./log";
import { options, stepper } from "./options";
import { toStanding } from "./page";
import { ranOutEntry } from "./ranout";

type Product = (typeof PRODUCTS)[number];
type Before = keyof typeof t.stock.befores;
type Step = "small" | "middle" | "bag";

const MOST = 99_990;

export function fillPage(): Page {
  const at: { product: Product; amount: number; step: Step; before: Before; left: number } = { product: "seed", amount: 0, step: "middle", before: "unknown", left: 0 };
  const note = new Note();
  const aboard = h("div", { id: "aboard", role: "status" });
  const pad = h("div", {});
  const more = h("div", {});
  const unit = (): "kg" | "l" => unitOf(at.product);
  const stepOf = (): number => (at.step === "small" ? 10 : at.step === "middle" ? 50 : choices.get().bag_kg);
  const said = (): string => (at.step === "bag" && unit() === "kg" && at.amount % stepOf() === 0 ? t.stock.bags(at.amount, at.amount / stepOf()) : t.stock.amount(at.amount, unit()));
  const show = (): void => {
    const value = h("p", { class: "filling", id: "amount", "aria-live": "polite" }, said());
    const turn = (by: number) => (): void => {
      at.amount = Math.min(MOST, Math.max(0, at.amount + by));
      put(value, said());
    };
    const press = (name: string, by: number): HTMLElement => button(by === -MOST ? "0" : `${by < 0 ? "−" : "+"} ${Math.abs(by).toLocaleString("en")}`, turn(by), { "data-by": name });
    const steps = { small: t.stock.steps.small(unit()), middle: t.stock.steps.middle(unit()), ...(unit() === "l" ? {} : { bag: t.stock.steps.bag }) } as Record<Step, string>;
    put(
      pad,
      options(t.stock.step, steps, at.step, (step) => {
        at.step = step;
        show();
      }),
      at.step === "bag" ? stepper(t.stock.bag, choices.get().bag_kg, { least: 5, most: 2000, step: 5, say: t.stock.weight }, (bag_kg) => choose({ bag_kg }, keeper())) : null,
      value,
      h("div", { class: "pairs", role: "group", "aria-label": t.stock.filled[unit()] }, press("less", -stepOf()), press("more", stepOf()), press("none", -MOST), press("much", 10 * stepOf())),
    );
    put(more, at.before === "left" ? stepper(t.stock.leftBefore, at.left, { least: 0, most: MOST, step: unit() === "l" ? 10 : 50, say: (kg) => t.stock.amount(kg, unit()) }, (left) => (at.left = left)) : null);
  };
  let end = (): void => undefined;
  const balance = (): void => {
    const some = known();
    const none = bins.get().fills === 0 ? t.stock.none : kept.get().sums === null ? t.stock.counting : t.stock.elsewhere;
    put(aboard, ...(some.length > 0 ? binLines(some) : [h("p", {}, none)]), ...areaLines(), ...timeLines());
  };
  /** Where nobody drives, the balance is that of the count which is made while standing. */
  const count = (): void => {
    if (driving.get().live !== null) return;
    end();
    end = join(askedHere(), { stage: () => undefined, first: () => undefined, done: balance, failed: ({ code, message }) => put(aboard, h("p", {}, t.gate.trouble[code] ?? message)) });
  };
  const save = async (): Promise<void> => {
    if (at.amount === 0) return note.say(t.stock.nothing);
    const before = at.before === "mark" ? { same_mark: true } : at.before === "left" ? { left: at.left } : {};
    const draft = { kind: "fill", t_ms: Date.now(), product: at.product, [unit()]: at.amount, ...before } as const;
    if (!(await note.write(draft, t.stock.done(t.stock.amount(at.amount, unit()), t.stand.fill.products[at.product].toLowerCase())))) return;
    at.amount = 0;
    show();
    kept.set({ sums: null });
  };
  show();
  const ends = [bins.watch(["bins", "fills"], balance), bins.watch(["fills"], ({ fills }) => void (fills > 0 && count())), kept.watch(["sums"], balance)];
  return pageOf(
    t.stock.title,
    [
      h("h2", {}, t.stock.aboard),
      aboard,
      options(t.stock.title, t.stand.fill.products, at.product, (product) => {
        at.product = product;
        if (at.step === "bag" && unit() === "l") at.step = "middle";
        show();
      }),
      pad,
      h("h2", {}, t.stock.before),
      options(t.stock.before, t.stock.befores, at.before, (before) => {
        at.before = before;
        show();
      }),
      more,
      button(t.stock.act, () => void save(), { id: "log-fill" }, "first"),
      note.body,
      ranOut(() => at.product, note),
      h("p", {}, t.stand.seat),
      h("p", {}, t.stand.fill.spilt),
      toStanding(),
    ],
    () => [...ends, end].forEach((stop) => stop()),
  );
}

/** The bin was empty before anybody noticed: asked twice, because it makes sown ground bare. */
function ranOut(product: () => Product, note: Note): HTMLElement {
  const box = h("div", { class: "stack" });
  const found = (): Bin | undefined => known().find((bin) => bin.product === product());
  const ask = (): void => put(box, button(t.stock.out, sure, { id: "ran-out" }));
  const sure = (): void => {
    const entry = ranOutEntry(found(), Date.now());
    const { since_ms, since_spread_ms } = entry;
    const band: Child = since_ms === undefined || since_spread_ms === undefined ? t.stock.outUnknown : t.stock.outBand(minute(since_ms - since_spread_ms), minute(since_ms + since_spread_ms));
    const write = (): void => void note.write(entry, `${t.stand.fill.products[product()]} ${t.stock.outDone}`).then(ask);
    put(box, h("p", {}, t.stock.outWhat(product())), h("p", { id: "band" }, band), button(t.stock.outSure, write, { id: "ran-out-sure" }), button(t.back, ask));
  };
  ask();
  return box;
}
