/** Two tabs on one phone: one walks, the other says so. */

/**
 * Holds the walk for this tab as long as the tab lives.
 * @param {string} code the fleet's code
 * @param {LockManager} [locks]
 * @returns {Promise<{held: boolean, release: () => void}>} not held: another tab has it
 */
export function holdWalk(code, locks = navigator.locks) {
  return new Promise((resolve) => {
    const ask = locks.request(name(code), { ifAvailable: true }, (lock) => {
      if (!lock) return void resolve({ held: false, release: () => {} });
      return new Promise((letGo) => resolve({ held: true, release: () => letGo(undefined) }));
    });
    // Web Locks are refused in some private windows; then nobody can tell, and the log's own order still holds.
    ask.catch(() => resolve({ held: true, release: () => {} }));
  });
}

/**
 * Waits until the other tab lets go, then holds.
 * @param {string} code
 * @param {LockManager} [locks]
 * @returns {Promise<{held: true, release: () => void}>}
 */
export function waitForWalk(code, locks = navigator.locks) {
  return new Promise((resolve, reject) => {
    locks
      .request(name(code), () => new Promise((letGo) => resolve({ held: true, release: () => letGo(undefined) })))
      .catch(reject);
  });
}

/**
 * One tab sends at a time; a second one waits.
 * @template T
 * @param {string} code
 * @param {() => Promise<T>} work
 * @param {LockManager} [locks]
 * @returns {Promise<T>}
 */
export async function sendAlone(code, work, locks = navigator.locks) {
  // Refused in some private windows: then nobody can tell, and the door takes everything twice as well as once.
  const answered = await locks.request(`driptray-${code}-ask`, () => true).catch(() => false);
  return answered ? locks.request(`driptray-${code}-send`, work) : work();
}

/** @param {string} code */
function name(code) {
  return `driptray-${code}-walk`;
}
