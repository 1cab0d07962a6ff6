/** Photos from the camera: upright, 1600 px at most, nothing but the picture, read back before they count as kept. */

import { AppError } from "./errors.js";
import { sha256 } from "./bytes.js";
import { stamp } from "./clock.js";

/** @import {PhotoRecord} from "./types.js" */
/** @import {Storage} from "./storage.js" */

export const LONGEST = 1600;
const QUALITY = 0.82;
/** A phone's cameras make less; a file beyond it is no photo of theirs. */
const LARGEST_FILE = 60 * 1024 * 1024;

/**
 * A file of the camera's as a JPEG of at most 1600 px. Drawing it anew turns it upright and leaves place and time behind.
 * Throws AppError "photo-unreadable" (a HEIC that this browser cannot decode, or no picture) or "photo-too-large".
 * @param {Blob} file
 * @returns {Promise<ArrayBuffer>}
 */
export async function shrink(file) {
  if (file.size > LARGEST_FILE) throw new AppError("photo-too-large", { bytes: file.size, most: LARGEST_FILE });
  const picture = await decoded(file);
  const scale = Math.min(1, LONGEST / Math.max(picture.width, picture.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(1, Math.round(picture.width * scale));
  canvas.height = Math.max(1, Math.round(picture.height * scale));
  const context = canvas.getContext("2d");
  if (!context) throw new AppError("photo-unreadable", { type: file.type });
  context.drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  /** @type {Blob | null} */
  const blob = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY));
  canvas.width = canvas.height = 0; // iPhones keep a canvas's memory until it has no size
  if (!blob) throw new AppError("photo-unreadable", { type: file.type });
  return blob.arrayBuffer();
}

/**
 * @param {Blob} file
 * @returns {Promise<ImageBitmap>}
 */
async function decoded(file) {
  try {
    return await createImageBitmap(file, { imageOrientation: "from-image" });
  } catch (error) {
    throw new AppError("photo-unreadable", { type: file.type || "?" }, error);
  }
}

export class Photos {
  /** @param {Storage} storage @param {() => Date} [now] */
  constructor(storage, now = () => new Date()) {
    this.storage = storage;
    this.now = now;
  }

  /**
   * Shrinks, keeps and reads back one photo. Throws as shrink() does; "photo-full" where there is no room.
   * @param {Blob} file
   * @returns {Promise<string>} its SHA-256
   */
  async take(file) {
    const bytes = await shrink(file);
    const sha = await sha256(bytes);
    await this.#keep({ sha256: sha, type: "image/jpeg", bytes, at: stamp(this.now()) });
    const kept = await this.get(sha);
    if (!kept?.bytes || (await sha256(kept.bytes)) !== sha) throw new AppError("photo-corrupt", { photo: sha });
    return sha;
  }

  /** @param {string} sha @returns {Promise<PhotoRecord | null>} */
  async get(sha) {
    return (await this.storage.read(["photos"], (work) => work.get("photos", sha))) ?? null;
  }

  /** For an <img>; revoke it when the image is gone. @param {string} sha @returns {Promise<string | null>} */
  async url(sha) {
    const photo = await this.get(sha);
    return photo?.bytes ? URL.createObjectURL(new Blob([photo.bytes], { type: photo.type })) : null;
  }

  /** Photos whose bytes are here. @returns {Promise<string[]>} */
  async kept() {
    return this.storage.read(["photos"], async (work) => {
      const kept = [];
      for (const sha of await work.keys("photos")) {
        const photo = await work.get("photos", sha);
        if (photo?.bytes) kept.push(String(sha));
      }
      return kept;
    });
  }

  /**
   * Lets a photo's bytes go, which the caller does only when the workshop has proven a backup that holds it.
   * @param {string} sha
   */
  async letGo(sha) {
    await this.storage.write(["photos"], async (work) => {
      const photo = await work.get("photos", sha);
      if (photo) await work.put("photos", { ...photo, bytes: null });
    });
  }

  /** A photo taken for a draft that was thrown away. @param {string} sha */
  async drop(sha) {
    await this.storage.write(["photos"], (work) => work.delete("photos", sha));
  }

  /** @param {PhotoRecord} photo */
  async #keep(photo) {
    try {
      await this.storage.write(["photos"], (work) => work.put("photos", photo));
    } catch (error) {
      if (error instanceof AppError && error.code === "storage-full") throw new AppError("photo-full", {}, error);
      throw error;
    }
  }
}
