// Records what the page plays, without a sound device: the page's own player in an
// offline context, with things done at given times.

/**
 * `events`: [seconds, method of Sound, ...arguments], in order of time; those at 0 are
 * done before the start. Gives left and right.
 */
export async function record(page, seconds, events) {
  const sides = await page.evaluate(async ({ seconds, events }) => {
    const { Sound, PIECE } = await import("/sound.js");
    const { parts } = await import("/page.js");
    const { room } = parts();
    const rate = room.sample_rate_hz;
    const context = new OfflineAudioContext(2, Math.round(seconds * rate), rate);
    const sound = new Sound(rate, () => {});
    await sound.attach(context);
    // Every piece that may be needed is there before the start: nothing is late.
    sound.supply = () => {};
    sound.know(room.sources, room.revision);
    const keys = new Set();
    let from = 0;
    for (const [, method, first] of events) {
      if (method === "seek") from = first;
      if (method === "choose") keys.add(first);
    }
    const span = [Math.floor(from / PIECE), Math.floor((from + seconds * rate) / PIECE) + 1];
    for (const id of keys) {
      for (let index = span[0]; index <= span[1]; index += 1) {
        await sound.fetch(id, sound.key(id), index);
        for (const [name, value] of sound.asked) if (value !== true) sound.asked.delete(name);
      }
    }
    const run = (event) => sound[event[1]](...event.slice(2));
    for (const event of events.filter(([at]) => at === 0)) run(event);
    for (const event of events.filter(([at]) => at > 0)) {
      context.suspend(event[0]).then(async () => {
        run(event);
        await new Promise((done) => setTimeout(done, 30));
        context.resume();
      });
    }
    await new Promise((done) => setTimeout(done, 150));
    const heard = await context.startRendering();
    return [0, 1].map((side) => {
      const bytes = new Uint8Array(heard.getChannelData(side).buffer);
      let text = "";
      for (let at = 0; at < bytes.length; at += 32768) text += String.fromCharCode(...bytes.subarray(at, at + 32768));
      return btoa(text);
    });
  }, { seconds, events });
  return sides.map((side) => {
    const bytes = Buffer.from(side, "base64");
    return new Float32Array(bytes.buffer, bytes.byteOffset, bytes.byteLength / 4);
  });
}

/** A stereo file of 32-bit floats. */
export function wav(sides, rate) {
  const frames = sides[0].length;
  const head = Buffer.alloc(44);
  head.write("RIFF", 0);
  head.writeUInt32LE(36 + 8 * frames, 4);
  head.write("WAVEfmt ", 8);
  head.writeUInt32LE(16, 16);
  head.writeUInt16LE(3, 20);
  head.writeUInt16LE(2, 22);
  head.writeUInt32LE(rate, 24);
  head.writeUInt32LE(8 * rate, 28);
  head.writeUInt16LE(8, 32);
  head.writeUInt16LE(32, 34);
  head.write("data", 36);
  head.writeUInt32LE(8 * frames, 40);
  const body = Buffer.alloc(8 * frames);
  for (let frame = 0; frame < frames; frame += 1) {
    body.writeFloatLE(sides[0][frame], 8 * frame);
    body.writeFloatLE(sides[1][frame], 8 * frame + 4);
  }
  return Buffer.concat([head, body]);
}

/** The largest step from one sample to the next between two frames. */
export function step(sides, from, to) {
  let largest = 0;
  for (const side of sides) {
    for (let frame = Math.max(1, from); frame < Math.min(to, side.length); frame += 1) {
      largest = Math.max(largest, Math.abs(side[frame] - side[frame - 1]));
    }
  }
  return largest;
}

export function peak(sides, from = 0, to = Infinity) {
  let largest = 0;
  for (const side of sides) {
    for (let frame = from; frame < Math.min(to, side.length); frame += 1) {
      largest = Math.max(largest, Math.abs(side[frame]));
    }
  }
  return largest;
}
