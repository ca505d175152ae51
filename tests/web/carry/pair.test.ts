import { claim, codeIn, codeOf } from "../../../web/src/carry/pair";
import { FakeHome, json } from "./home";

describe("a pairing code", () => {
  it("is taken however it is typed", () => {
    for (const typed of ["4T7QK-9MX2A", "4t7qk9mx2a", " 4T7QK 9MX2A ", "4T7Q K-9M X2A"]) expect(codeOf(typed)).toBe("4T7QK9MX2A");
    expect(codeOf("OIL00-00000")).toBe("0110000000");
  });

  it("is refused before it is used up where it cannot be one", () => {
    for (const typed of ["", "4T7QK-9MX2", "4T7QK-9MX2AB", "4T7QK-9MX2U", "4T7QK-9MX2!", "é".repeat(10)]) expect(codeOf(typed)).toBeNull();
  });

  it("is read from the part of the address that is never sent", () => {
    expect(codeIn("#pair=4T7QK-9MX2A")).toBe("4T7QK9MX2A");
    expect(codeIn("#pair=4T7QK-9MX2A&x=1")).toBe("4T7QK9MX2A");
    for (const hash of ["", "#", "#pair=", "#other=4T7QK-9MX2A", "#pair=4T7"]) expect(codeIn(hash)).toBeNull();
  });

  it("is given with the phone's own label, and with the token of before where there was one", async () => {
    const home = new FakeHome();
    const said = { dev: "phone-1", token: "t2", may: "keeper", name: "morning" };
    home.next.push(() => json(201, { ...said, token: "t1" }), () => json(201, said));
    const first = await claim("4T7QK9MX2A", "phone-1", null, 5, home.fetch);
    expect(first).toEqual({ ...said, token: "t1", paired_ms: 5 });
    await claim("4T7QK9MX2B", "phone-1", first, 6, home.fetch);
    expect(home.sent.map((each) => JSON.parse(each.lines[0] ?? "") as unknown)).toEqual([
      { code: "4T7QK9MX2A", dev: "phone-1" },
      { code: "4T7QK9MX2B", dev: "phone-1", was: "t1" },
    ]);
  });
});
