// This phone: what it holds, what there is room for, its battery, and beginning as a new one.
import { button, h, put, type Child } from "../dom";
import { type Page, pageOf } from "../route";
import { backButton } from "../shell";
import { cab, keeper, type Cab } from "../state";
import { t } from "../words";

export function phonePage(): Page {
  const stand = h("div", {});
  const close = cab.watch(["room", "battery", "count", "ready", "awake"], (state) => put(stand, standing(state)));
  void keeper().headroom().then((room) => cab.set({ room }));
  const anew = h("div", {});
  // a phone that only looks has no log to begin, and must not come to one by a child's thumb
  if (cab.get().part !== "rider") put(anew, button(t.phone.anew, () => put(anew, h("p", {}, t.phone.anewWhy), button(t.phone.anewSure, () => void begin(), {}, "first"))));
  return pageOf(t.phone.title, [stand, anew, backButton()], close);
}

function standing({ room, battery, count, ready, awake }: Cab): readonly Child[] {
  const promised = room === null || room.persisted === null ? t.storage.notAsked : room.persisted ? t.storage.promised : t.storage.notPromised;
  const lines: (string | null)[] = [
    `${t.phone.label}: ${keeper().dev}`,
    t.phone.stored(count.stored),
    room === null || room.hours === null ? t.phone.roomUnknown : t.phone.room(t.hours(room.hours)),
    promised,
    battery === null ? t.phone.batteryUnknown : t.phone.battery(Math.round(battery.part * 100), battery.charging),
    battery === null || battery.left_h === null ? null : t.phone.lasts(t.hours(battery.left_h)),
    awake === "none" || awake === "lost" ? t.phone.sleepy : t.phone.awake,
    ready.state === "ready" ? t.phone.version(ready.version) : null,
  ];
  return lines.filter((each) => each !== null).map((each) => h("p", {}, each));
}

async function begin(): Promise<void> {
  await keeper().renew();
  window.location.reload();
}
