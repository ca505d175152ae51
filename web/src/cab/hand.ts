// Hands files over: to the phone's own folder of downloads, or to whatever it shares with.
import { logFile } from "../carry/file";
import { h } from "./dom";
import { keeper } from "./state";

/** Saves the whole log as a file; its name. */
export async function saveLog(): Promise<string> {
  const file = await logFile(keeper(), Date.now());
  save(file);
  return file.name;
}

/** Saves any file. */
export function save(file: File): void {
  const url = URL.createObjectURL(file);
  const link = h("a", { href: url, download: file.name });
  document.body.appendChild(link);
  link.click();
  document.body.removeChild(link);
  setTimeout(() => URL.revokeObjectURL(url), 60_000); // the browser reads it after the click
}

/** Whether this phone can hand a file to something near. */
export function canShare(): boolean {
  const probe = new File(["x"], "x.txt", { type: "text/plain" });
  return typeof navigator.canShare === "function" && navigator.canShare({ files: [probe] });
}

/** Hands the whole log to something near: another phone, a message, a drive. False: not done. */
export async function shareLog(): Promise<boolean> {
  const log = await logFile(keeper(), Date.now());
  // browsers share no file whose name ends in what they do not know
  return share(new File([log], `${log.name}.txt`, { type: log.type }));
}

/** Lets the phone hand a file on; false: the driver thought better of it, or nothing is near. */
export async function share(file: File): Promise<boolean> {
  try {
    await navigator.share({ files: [file] });
    return true;
  } catch {
    return false;
  }
}
