import { readFileSync } from "node:fs";
import { area, distance, road, size } from "../../web/src/formats/units";
import said from "./said.json";
import { DAY, NIGHT } from "../../web/src/desk/ink";

describe("the pages say and paint what the house says and paints", () => {
  const says = { area, size, distance, road };
  for (const [name, say] of Object.entries(says)) {
    it(`${name} is said as in server/unsown/formats/units.py`, () => {
      for (const [value, ha, ac] of said[name as keyof typeof says] as [number, string, string][]) {
        expect([say(value, "ha"), say(value, "ac")]).toEqual([ha, ac]);
      }
    });
  }

  it("the colours are those of server/unsown/formats/ink.py, by day and by night", () => {
    const text = readFileSync(new URL("../../server/unsown/formats/ink.py", import.meta.url), "utf8");
    const colours = (name: string): Record<string, string> => {
      const block = new RegExp(`^${name} = Ink\\(([^)]*)\\)`, "m").exec(text)?.[1] ?? "";
      return Object.fromEntries([...block.matchAll(/(\w+)="(#[0-9A-F]{6})"/g)].map(([, key = "", colour = ""]) => [key, colour]));
    };
    expect(DAY).toEqual(colours("DAY"));
    expect(NIGHT).toEqual(colours("NIGHT"));
  });
});
