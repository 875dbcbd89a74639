type Column = Uint8Array | Uint32Array | Int32Array | Float64Array;

/** A copy in memory that worker threads see without copying it again, with room for more values at the end. */
export function sharedCopy<T extends Column>(values: T, room = values.length): T {
  const make = values.constructor as new (memory: SharedArrayBuffer) => T;
  const copy = new make(new SharedArrayBuffer(values.BYTES_PER_ELEMENT * room));
  copy.set(values.length > room ? values.subarray(0, room) : values);
  return copy;
}

/** The same array where it has room for `length` values, else a copy of twice the length. */
export function withRoomFor<T extends Column>(values: T, length: number): T {
  return values.length >= length ? values : sharedCopy(values, 2 * length);
}
