/** A workshop's door in the page: keeps what it is sent, can be cut at any request, and forgets when told. */

export class FakeDoor {
  constructor() {
    this.entries = new Map(); // id -> line
    this.photos = new Set();
    this.calls = [];
    this.cutAt = Infinity; // this request and all after it fail
    this.cutAfter = false; // ... after it was carried out: the receipt is lost
    this.clones = new Set();
    this.aside = [];
    this.carry = { driptray: 1, carry: true, fleet: "trial", edition: "3f9c2a71", made: "2026-10-18T12:00:00+01:00", knows: { "desk-1": 4 }, defects: [] };
    this.code = "trial";
    this.clock = null;
    this.paired = "secret";
  }

  /** In the place of fetch. */
  transport = async (url, init) => {
    this.calls.push(`${init.method} ${new URL(url).pathname}`);
    const cut = this.calls.length >= this.cutAt;
    if (cut && !this.cutAfter) throw new TypeError("the connection was cut");
    const response = await this.answer(new URL(url), init);
    if (cut) throw new TypeError("the receipt was lost");
    return response;
  };

  async answer(url, { method, headers, body }) {
    const path = url.pathname.replace("/door/", "");
    const now = (this.clock ?? new Date()).toISOString();
    if (path === "hello") return json({ fleet: "Trial Shed", code: this.code, edition: "3f9c2a71", server_time: now });
    if (path === "pair") return JSON.parse(body).code === "4711" ? json({ token: this.paired }) : json({ error: "that code is not the one shown" }, 403);
    if (headers.Authorization !== `Bearer ${this.paired}`) return json({ error: "this phone is not paired" }, 401);
    if (path === "device") return json({ token: this.paired });
    if (path === "have") return json(this.lacking(JSON.parse(body), now));
    if (path === "entries") return json(this.take(body, now));
    if (path === "carry") return this.known(headers);
    if (method === "PUT") {
      this.photos.add(path.split("/")[1]);
      return json({});
    }
    return json({ error: "there is nothing at this address" }, 404);
  }

  lacking({ device, items, photos }, server_time) {
    const held = [...this.entries.values()].map((line) => JSON.parse(line)).filter((entry) => entry.device === device).map(({ seq }) => [seq, seq]);
    return { want: items.filter(([, id]) => !this.entries.has(id)).map(([, id]) => id), want_photos: photos.filter((sha) => !this.photos.has(sha)), held, backed_up: [], clone: this.clones.has(device), server_time };
  }

  take(text, server_time) {
    const lines = text.split("\n").slice(1, -2);
    const fresh = lines.filter((line) => !this.entries.has(JSON.parse(line).id));
    for (const line of fresh) this.entries.set(JSON.parse(line).id, line);
    return { taken: fresh.length, already: lines.length - fresh.length, set_aside: this.aside, missing_seq: [], want_photos: [], server_time };
  }

  known(headers) {
    const etag = `"${this.carry.defects.length}"`;
    if (headers["If-None-Match"] === etag) return new Response(null, { status: 304, headers: { ETag: etag } });
    return new Response(JSON.stringify(this.carry), { headers: { ETag: etag } });
  }
}

function json(value, status = 200) {
  return new Response(JSON.stringify(value), { status, headers: { "Content-Type": "application/json" } });
}
