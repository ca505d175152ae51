// The hand is given back for a moment: a touch, a frame or whatever else waits has its turn. After a timer
// browsers rest 4 ms, which comes to a tenth of a long piece of work; after a message they do not.
export const breath = (): Promise<void> =>
  new Promise((resolve) => {
    const { port1, port2 } = new MessageChannel();
    port1.addEventListener("message", () => {
      port1.close();
      resolve();
    });
    port1.start();
    port2.postMessage(null);
  });
