// A receiver of its own, by cable or radio, where the browser can speak to one. It needs a press to be
// chosen, and is remembered by the browser, not by us.
import { Nmea } from "../formats/nmea";
import type { Fix } from "./live";
import { FixClock, type PositionSource, type SourceTrouble } from "./source";

/** What is used of a serial port (Web Serial). */
export interface Port {
  open(how: { baudRate: number }): Promise<void>;
  close(): Promise<void>;
  readonly readable: ReadableStream<Uint8Array> | null;
}

interface Ports {
  requestPort(): Promise<Port>;
  getPorts(): Promise<Port[]>;
}

const BAUD = 115_200;

/** Null where the browser has none. */
export function ports(): Ports | null {
  return (navigator as { serial?: Ports }).serial ?? null;
}

/** Sentences of a port as positions. */
export class ReceiverSource implements PositionSource {
  readonly name = "receiver";
  readonly speed = 1;
  private readonly clock = new FixClock();
  private readonly nmea = new Nmea();
  private reader: ReadableStreamDefaultReader<Uint8Array> | null = null;
  private ended = false;

  constructor(private readonly port: Port, private readonly baud = BAUD) {}

  start(onFix: (fix: Fix) => void, onTrouble: (trouble: SourceTrouble) => void): void {
    this.ended = false;
    this.read(onFix).catch(() => {
      if (!this.ended) onTrouble("none");
    });
  }

  stop(): void {
    this.ended = true;
    const { reader } = this;
    this.reader = null;
    if (reader !== null) {
      reader
        .cancel()
        .then(() => this.port.close())
        .catch(() => undefined);
    }
  }

  now(): number {
    return this.clock.now();
  }

  private async read(onFix: (fix: Fix) => void): Promise<void> {
    await this.port.open({ baudRate: this.baud });
    const { readable } = this.port;
    if (readable === null) throw new Error("the port cannot be read");
    const reader = readable.getReader();
    this.reader = reader;
    const letters = new TextDecoder("ascii");
    for (;;) {
      const { value, done } = await reader.read();
      if (done) break;
      for (const fix of this.nmea.read(letters.decode(value, { stream: true }))) {
        this.clock.see(fix.t_ms);
        onFix(fix);
      }
    }
    if (!this.ended) throw new Error("the receiver was pulled out");
  }
}
