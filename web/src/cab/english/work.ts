// English: the working page. The words on the pad and its row have drawings beside them.
import type { Land } from "../words";

export function work(_land: Land) {
  return {
    title: "Sow",
    under: "Logs positions and the lever",
    down: "DOWN",
    up: "UP",
    padDown: "Lever: the tool is down",
    padUp: "Lever: the tool is up",
    mark: "Mark",
    notFlowing: "Not flowing",
    flowsAgain: "Flows again",
    oops: "Oops",
    row: "Mark, seed, take back",
    ground: "The ground around the rig; where you go is up",
    sown: (value: string, unit: string) => `${value} ${unit} sown`,
    accuracy: (text: string) => `Positions ${text}`,
    unknown: "± ?",
    /** The one line that matters most now. */
    urgent: {
      other: "Another tab logs",
      failed: "Not stored",
      denied: "No permission for positions",
      none: "No positions on this phone",
      silent: "No position",
      making: "Reading the log",
      waiting: "Waiting for a position",
      notFlowing: "Not flowing",
      sowing: "Down since the edge?",
      lifted: "Lifted back there?",
      seldom: "Phone is slowing",
      noRig: "No rig card",
      battery: (percent: number) => `Battery ${percent} %`,
      aim: (number: number) => `To patch ${number}`,
      strain: (corners: number) => `Corner kept: ${corners}`,
      sleepy: "Screen may sleep",
      lift: (count: number) => (count > 0 ? `Edge, count ${count}, lift` : count < 0 ? `Lift ${-count} s before` : "Lift at the edge"),
      lower: (count: number) => (count > 0 ? `Lower ${count} s before` : count < 0 ? `Edge, count ${-count}, lower` : "Lower at the edge"),
    },
    stop: {
      title: "Stop logging",
      under: "Until the next time you sow",
      body: "Positions are no longer written down. What was logged stays.",
      caution: "Before you leave the seat: tool lowered or locked, engine stopped, key out. Never go under a tool that hangs on its hydraulics.",
      act: "Stop logging",
      on: "Go on sowing",
      down: "The tool is down. Lift it with the pad first, or it is asked about later.",
    },
  };
}
