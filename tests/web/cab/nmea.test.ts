import { Nmea, sound } from "../../../web/src/formats/nmea";
import { ReceiverSource, type Port } from "../../../web/src/cab/receiver";
import type { Fix } from "../../../web/src/cab/live";

/** A sentence with its checksum: all letters between $ and * combined by exclusive or (NMEA 0183). */
const said = (body: string): string => {
  const sum = Array.from(body).reduce((all, letter) => all ^ letter.charCodeAt(0), 0);
  return `$${body}*${sum.toString(16).toUpperCase().padStart(2, "0")}\r\n`;
};
const RMC = said("GNRMC,161229.50,A,4943.8000,N,10612.6000,W,4.05,309.6,150526,,,A");
const GST = said("GNGST,161229.50,1.0,,,,0.6,0.8,1.1");

describe("sentences of a receiver", () => {
  it("are a position with its time, speed, course and how well it is known", () => {
    const [fix] = new Nmea().read(GST + RMC);
    expect(fix?.t_ms).toBe(Date.UTC(2026, 4, 15, 16, 12, 29, 500));
    expect(fix?.lat_deg).toBeCloseTo(49.73, 9);
    expect(fix?.lon_deg).toBeCloseTo(-106.21, 9);
    expect(fix?.speed_m_s).toBeCloseTo((4.05 * 1852) / 3600, 9);
    expect(fix?.course_deg).toBe(309.6);
    expect(fix?.acc_m).toBeCloseTo(2.4477 * Math.sqrt(0.5), 6);
  });

  it("may come in any pieces", () => {
    const nmea = new Nmea();
    const fixes = Array.from(GST + RMC).reduce<number>((count, letter) => count + nmea.read(letter).length, 0);
    expect(fixes).toBe(1);
  });

  it("are left out and counted when damaged, and have no accuracy where none was said", () => {
    const nmea = new Nmea();
    expect(nmea.read(RMC.replace("4943.8", "4953.8"))).toEqual([]);
    expect(nmea.damaged).toBe(1);
    expect(nmea.read(RMC)[0]?.acc_m).toBeNaN();
    expect(sound("$GNRMC,no,sum")).toBe(false);
  });

  it("give nothing while the receiver has no position", () => {
    expect(new Nmea().read(said("GNRMC,161229.50,V,,,,,,,150526,,,N"))).toEqual([]);
  });

  it("reach the page from a port, and a port that ends is trouble", async () => {
    const readable = new ReadableStream<Uint8Array>({
      start(controller) {
        controller.enqueue(new TextEncoder().encode(GST + RMC.slice(0, 20)));
        controller.enqueue(new TextEncoder().encode(RMC.slice(20)));
        controller.close();
      },
    });
    const port: Port = { open: () => Promise.resolve(), close: () => Promise.resolve(), readable };
    const fixes: Fix[] = [];
    const trouble = await new Promise((resolve) => new ReceiverSource(port).start((fix) => void fixes.push(fix), resolve));
    expect(trouble).toBe("none");
    expect(fixes).toHaveLength(1);
  });
});
