// English: what a phone is set to, and the page of a phone that only looks.
import type { Land } from "../words";

export function more(P: Land) {
  return {
    settings: {
      title: "Settings",
      units: "Areas in",
      unit: { ha: "Hectares", ac: "Acres" },
      land: "Land is called",
      lands: { paddock: "Paddock", field: "Field" },
      hand: "Buttons for the",
      hands: { right: "Right hand", left: "Left hand" },
      button: "Wireless button",
      noButton: "None was learned. Any button that types a key works.",
      learned: (key: string) => `Learned: ${key}`,
      learn: "Learn a button",
      press: "Press the button now.",
      forget: "Forget it",
      refused: (key: string) => `${key} moves about on the page; use a button that types another key.`,
      place: "The rig, and where the phone sits",
      mount: (ahead: string, left: string) => `phone ${ahead} of the rear axle${left === "" ? "" : `, ${left} of the middle`}`,
      ahead: (m: string) => `${m} ahead`,
      behind: (m: string) => `${m} behind`,
      left: (m: string) => `${m} left`,
      right: (m: string) => `${m} right`,
      mountWhy: "Press the one that is driven today. The phone sits always in the same place, seen from the seat, not in the sun, not loose, no cable near pedals or levers. Another place is another rig card.",
      mountSaved: (card: string) => `rig card ${card}`,
      noCard: "No rig card is on this phone yet.",
      cautions: "Read the cautions again",
    },
    cautions: "Cautions",
    rider: {
      title: "Look on",
      under: `The ${P}s as home knew them last`,
      first: "This phone only looks. It has no pad, and nothing on it enters the log.",
      seat: "Look on from a seat made for a passenger, or from the kitchen table.",
      none: "No farm pack is on this phone. Pair it at the desk to look, or take one in as a file.",
      asOf: (when: string) => `As home knew it on ${when}.`,
      unsown: "Nothing is sown here yet this season.",
      sown: (sown: string, net: string) => `Sown ${sown} of ${net}`,
      bare: (count: number, size: string) => (count === 0 ? "No bare patch is listed" : `${count} bare ${count === 1 ? "patch" : "patches"}, ${size}`),
      doubt: (doubt: string) => `Not known ${doubt}`,
      map: `Map of the ${P}, north up`,
    },
  };
}
