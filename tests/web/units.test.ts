import { area, distance, size, speed } from "../../web/src/formats/units";

describe("numbers as people say them", () => {
  it("an area is said to a hundredth, in hectares or acres, and never as minus nought", () => {
    expect(area(61.402, "ha")).toBe("61.40 ha");
    expect(area(61.402, "ac")).toBe("151.73 ac");
    expect(area(-0.0004, "ha")).toBe("0.00 ha");
  });

  it("a patch is said to two figures, and in hectares when large", () => {
    expect(size(287.4, "ha")).toBe("290 m²");
    expect(size(6712, "ha")).toBe("0.67 ha");
    expect(size(287.4, "ac")).toBe("0.071 ac");
    expect(size(0, "ha")).toBe("0 m²");
  });

  it("a distance is said as a driver would pace it", () => {
    expect(distance(8.4, "ha")).toBe("8 m");
    expect(distance(412, "ha")).toBe("410 m");
    expect(distance(8.4, "ac")).toBe("30 ft");
  });

  it("a speed is said to a tenth", () => {
    expect(speed(2.083, "ha")).toBe("7.5 km/h");
    expect(speed(2.083, "ac")).toBe("4.7 mph");
  });
});
