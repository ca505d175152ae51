// Which positions are logged: the phone's own, or those of a receiver that the browser can speak to.
import { choices, choose } from "../choices";
import { button, h } from "../dom";
import { ports } from "../receiver";
import { type Page, pageOf } from "../route";
import { backButton } from "../shell";
import { keeper } from "../state";
import { t } from "../words";

export function sourcePage(): Page {
  const words = t.work.source;
  const now = h("p", { role: "status" });
  const close = choices.watch(["source"], ({ source }) => {
    now.textContent = words.now(words[source]);
  });
  const receiver = async (): Promise<void> => {
    try {
      await ports()?.requestPort(); // the browser remembers which
      choose({ source: "receiver" }, keeper());
    } catch {
      now.textContent = words.failed;
    }
  };
  return pageOf(
    words.title,
    [
      h("p", {}, words.body),
      now,
      h("div", { class: "stack" }, button(words.phone, () => choose({ source: "phone" }, keeper())), button(words.receiver, () => void receiver())),
      backButton(),
    ],
    close,
  );
}
