import { fieldIn, FIELDS, fitting, valueOf, withValue, type Field } from "../../web/src/desk/rig/fields";
import type { Card } from "../../web/src/desk/nouns";

const field = (name: string): Field => {
  const found = FIELDS.find((one) => `${one.table}.${one.key}` === name);
  if (!found) throw new Error(`no ${name}`);
  return found;
};
const card: Card = { name: "Long drill", kind: "towed", tool: { width_m: 8.4, pin_to_axle_ft: 20 }, times: { fill_s: 5 } };

describe("a rig card's fields", () => {
  it("show metres as they were given, and in feet on a farm of acres", () => {
    expect(valueOf(card, field("tool.width"), "ha")).toBe("8.4");
    expect(valueOf(card, field("tool.width"), "ac")).toBe("27.559");
    expect(valueOf(card, field("tool.pin_to_axle"), "ha")).toBe("6.096");
    expect(valueOf(card, field("turn.tightest"), "ha")).toBe("");
  });

  it("what was not touched stays as it was given, unit and all", () => {
    const same = withValue(card, field("tool.width"), "27.559", "ac");
    expect(same).toBe(card);
  });

  it("a new length takes the place of the old one, whatever unit that had", () => {
    const changed = withValue(card, field("tool.pin_to_axle"), "6,1", "ha");
    expect(changed["tool"]).toEqual({ width_m: 8.4, pin_to_axle_m: 6.1 });
    expect(card["tool"]).toEqual({ width_m: 8.4, pin_to_axle_ft: 20 });
  });

  it("emptied out of a table, the table goes too", () => {
    expect(withValue(card, field("times.fill"), " ", "ha")).not.toHaveProperty("times");
  });

  it("a change of kind leaves out what that kind has not", () => {
    expect(fitting(card, "mounted", "ha")).toEqual({ name: "Long drill", kind: "mounted", tool: { width_m: 8.4 }, times: { fill_s: 5 } });
  });

  it("an error is led to the field it names", () => {
    expect(fieldIn("width_m = 840: working width was expected to be 0.5 to 60 m.", "towed")).toBe(field("tool.width"));
    expect(fieldIn("cart.axle_to_pin_m is missing", "cart-between")).toBe(field("cart.axle_to_pin"));
    expect(fieldIn("fill_spread_s = 90", "towed")).toBe(field("times.fill_spread"));
    expect(fieldIn("the name is missing", "towed")).toBeNull();
  });
});
