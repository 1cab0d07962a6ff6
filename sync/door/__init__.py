"""The door: the address phones talk to, and other workshop PCs. What crosses it, as JSON unless said otherwise:

    GET  /door/hello                          -> {fleet, code, edition, server_time}
    POST /door/pair     {code, device, device_name}   -> {token}
    POST /door/device   {old, new}                    -> {token}      the new id's own; the old one stays good
    POST /door/have     {device, items: [[seq, id, hash], ...], photos: [sha256, ...], at?}
                     -> {want: [id], want_photos: [sha256], held: [[from, to]], backed_up: [sha256], clone, server_time}
    POST /door/entries  a hand-in without photos
                     -> {taken, already, set_aside: [{line, id, why}], missing_seq: [[from, to]],
                         want_photos: [sha256], server_time}
    PUT  /door/photos/{sha256}   the bytes            -> {sha256, new}
    GET  /door/carry             known defects, with an ETag; 304 where nothing changed

For paired desks alone:

    GET  /door/log               -> {entries: [[id, hash, trusted]], aside: [hash], editions, photos}
    POST /door/fetch    {entries: [id], aside: [hash]}   at most 200 at once -> a parcel
    POST /door/parcel   {entries: [{line, hash, trusted}], aside: [{hash, line, code, why, id, device, seq, body}],
                         names: {device: name}}          -> {entries, aside}
    GET, PUT /door/editions/{fingerprint}                the compiled edition
    GET  /door/photos/{sha256}                           the bytes
    GET  /door/authority         (for anyone) the local authority as PEM, to be compared before it is believed

All but hello, pair and authority want "Authorization: Bearer TOKEN". `at` is the phone's clock when it asked; times are
RFC 3339. `held` is what is here of the device's seqs, both ends in it; `clone` tells the phone to take a new device
id. A refusal is {error: words} under 400 (not understood), 401 (not paired), 403 (foreign origin, wrong code), 404,
408 (too slow), 413 (too large), 415 (no picture), 421 (foreign host name), 422 (nothing in it to take), 429 (too many
wrong codes), 503 and 507 (the backlog cannot be written now; nothing was taken).
"""
