// A vehicle's label read by the camera, where this browser can read codes by itself.

import { h, refill } from "../ui/dom.js";
import { sheet } from "../ui/dialog.js";
import { say } from "../words/index.js";

/** @import {App} from "../ui/app.js" */
/** @typedef {{detect: (source: HTMLVideoElement) => Promise<{rawValue: string}[]>}} Detector */

const BETWEEN_LOOKS = 200;

/** @returns {(new (options: {formats: string[]}) => Detector) | undefined} */
function detectorClass() {
  return /** @type {any} */ (window).BarcodeDetector;
}

export function canScan() {
  return detectorClass() !== undefined && navigator.mediaDevices?.getUserMedia !== undefined;
}

/**
 * The vehicle that a label's address names, whatever host it was printed for.
 * @param {string} text
 * @returns {string | null}
 */
export function vehicleOf(text) {
  const found = /#\/v\/([a-z0-9-]+)$/.exec(text);
  return found?.[1] ?? null;
}

/** @param {App} app */
export async function openScan(app) {
  const Detector = detectorClass();
  if (!Detector) return;
  const video = h("video", { class: "scan", muted: true, playsinline: true, "aria-label": say("scan.video") });
  const said = h("p", { role: "status" }, say("scan.text"));
  let open = true;
  /** @type {MediaStream | null} */
  let stream = null;
  const stop = () => {
    open = false;
    for (const track of stream?.getTracks() ?? []) track.stop();
  };
  const shelf = sheet({ title: say("scan.open"), closed: stop });
  refill(shelf.body, video, said);
  refill(
    shelf.foot,
    h("button", { type: "button", class: "act act-wide act-plain", on: { click: () => shelf.close() } }, say("scan.stop")),
  );
  stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } }).catch(() => null);
  if (!stream) return refill(said, say("scan.no-camera"));
  if (!open) return stop();
  video.srcObject = stream;
  await video.play();
  await look(
    new Detector({ formats: ["qr_code"] }),
    video,
    () => open,
    (text) => {
      const id = vehicleOf(text);
      if (!id || !app.edition.vehicles.some((vehicle) => vehicle.id === id)) return refill(said, say("scan.foreign"));
      shelf.close();
      app.go(`#/v/${id}`);
    },
  );
}

/**
 * @param {Detector} detector
 * @param {HTMLVideoElement} video
 * @param {() => boolean} open
 * @param {(text: string) => void} found
 */
async function look(detector, video, open, found) {
  while (open()) {
    const codes = await detector.detect(video).catch(() => []);
    const [code] = codes;
    if (code && open()) found(code.rawValue);
    await new Promise((resolve) => setTimeout(resolve, BETWEEN_LOOKS));
  }
}
