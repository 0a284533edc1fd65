"""Fits a net over seconds on stops that `weigh_signs seconds DIR` kept, and prints its weights for
server/engine/src/conditions/weights/.

    python3 -m venv VENV && VENV/bin/pip install numpy==2.4.6 torch==2.15.0
    VENV/bin/python tests/examples/weigh_signs/seconds.py DIR --thirds 3 --chance 3 --even 0.5 > seconds_2.rs

`--thirds` chooses which thirds of the seeds are learnt and `--chance` where chance begins, so that nets differ.
`--even 1` lets every stop count alike, however long, 0 every second, 0.5 a stop by the root of its length. `--without
WATER,...` leaves waters out and tells at the end how much of each the net tells that never met it: of its capsized
seconds those with odds that only one in a hundred of its other seconds has (the measure of `unseen`).
PyTorch does the learning: a well-kept library, needed by nobody who does not fit. Another machine may round otherwise
and give weights that differ a little.
"""

import argparse
import itertools
import pathlib
import sys

import numpy as np
import torch
from torch import nn

UNITS = 64  # as in conditions/seconds.rs
PART = 4096  # likewise
TOLD, SIGNS = 7 + 9, 49  # numbers told of every second; signs of a stop
INPUTS = TOLD + SIGNS
STOPPED, CAPSIZED, WIDTH = INPUTS, INPUTS + 1, INPUTS + 2
CUT, BEFORE = 480, 30  # longer stops are learned in pieces, each after so many seconds that only warm up
EPOCHS, BATCH, RATE = 10, 128, 4e-3
DROPPED = 0.15  # share of inputs and of what is remembered that is dropped while learning
USUAL = 60  # seconds of a stop; one of so many counts as many, however even


def pieces_of(path):
    numbers = np.memmap(path, dtype="<u4", mode="r")
    at = 0
    while at < len(numbers):
        seconds = int(numbers[at])
        stop = numbers[at + 1 : at + 1 + seconds * WIDTH].view("<f4").reshape(seconds, WIDTH)
        at += 1 + seconds * WIDTH
        for start in range(0, seconds, CUT):
            piece = np.array(stop[max(0, start - BEFORE) : start + CUT])
            if start > 0:
                piece[:BEFORE, CAPSIZED] = np.nan
            if asked(piece).any():
                yield piece


def asked(stop):
    return (stop[:, STOPPED] > 0.5) & ~np.isnan(stop[:, CAPSIZED])


class Stop:
    """A stop as it is learnt, in little memory: what is told, not a number where it is not known."""

    def __init__(self, scale, piece):
        self.told = scale(piece[:, :INPUTS]).astype(np.float16)
        self.stopped = piece[:, STOPPED] > 0.5
        self.capsized = piece[:, CAPSIZED] == 1
        self.asked = asked(piece)

    def __len__(self):
        return len(self.told)


class Scale:
    """Numbers as the net is told of them; see `Scaled` in conditions/seconds.rs."""

    def __init__(self, rows):
        values = rows[:, :INPUTS].astype(np.float64)
        share = np.isnan(values).mean(0)
        never = share > 0.9999
        values[:, never] = 0.0
        ends = np.nanquantile(values, [0.002, 0.998], axis=0)
        held = np.clip(values, ends[0], ends[1])
        deviation = np.nanstd(held, axis=0)
        deviation[deviation < 1e-3] = 1.0
        self.ends = np.round(ends, 4).astype(np.float32)
        self.mean = np.round(np.nanmean(held, axis=0), 4).astype(np.float32)
        self.deviation = np.round(deviation, 4).astype(np.float32)
        self.unknown = np.flatnonzero((share > 0.001) & (share < 0.999))
        self.width = INPUTS + len(self.unknown) + 1

    def __call__(self, values):
        return (np.clip(values, *self.ends) - self.mean) / self.deviation

    def whole(self, told, stopped, mirror=False):
        """All that goes in: what is not known is 0, and said to be unknown."""
        nan = np.isnan(told)
        told = np.where(nan, 0, told).astype(np.float32)
        if mirror:  # port for starboard
            told[:, 1] = -told[:, 1] - 2 * self.mean[1] / self.deviation[1]
        return np.concatenate([told, nan[:, self.unknown], stopped[:, None]], 1).astype(np.float32)


class Net(nn.Module):
    def __init__(self, inputs):
        super().__init__()
        self.enter = nn.Linear(inputs, UNITS)
        self.memory = nn.GRU(UNITS, UNITS, batch_first=True)
        self.say = nn.Linear(2 * UNITS, 1)
        self.drop = nn.Dropout(DROPPED)

    def forward(self, told):
        looked = torch.relu(self.enter(self.drop(told)))
        kept, _ = self.memory(looked)
        return self.say(torch.cat([self.drop(kept), looked], -1))[..., 0]


def batches(stops, scale, chance=None, even=0.0):
    order = np.argsort([len(stop) for stop in stops], kind="stable")
    parts = [order[at : at + BATCH] for at in range(0, len(order), BATCH)]
    if chance is not None:
        chance.shuffle(parts)
    for part in parts:
        longest = max(len(stops[number]) for number in part)
        told = np.zeros((len(part), longest, scale.width), np.float32)
        capsized, counts = (np.zeros((len(part), longest), np.float32) for _ in range(2))
        for row, number in enumerate(part):
            stop = stops[number]
            mirror = chance is not None and chance.random() < 0.5
            told[row, : len(stop)] = scale.whole(stop.told, stop.stopped, mirror)
            capsized[row, : len(stop)] = stop.capsized
            counts[row, : len(stop)] = stop.asked * (USUAL / max(stop.asked.sum(), 10)) ** even
        yield torch.from_numpy(told), torch.from_numpy(capsized), torch.from_numpy(counts)


def fit(stops, scale, chance, even):
    net = Net(scale.width)
    adam = torch.optim.AdamW(net.parameters(), RATE, weight_decay=1e-3)
    steps = EPOCHS * -(-len(stops) // BATCH)
    rate = torch.optim.lr_scheduler.OneCycleLR(adam, RATE, total_steps=steps)
    loss = nn.BCEWithLogitsLoss(reduction="none")
    for epoch in range(EPOCHS):
        all_, of = 0.0, 0.0
        for told, capsized, counts in batches(stops, scale, chance, even):
            seconds = counts.sum()
            mean = (loss(net(told), capsized) * counts).sum() / seconds
            adam.zero_grad()
            mean.backward()
            nn.utils.clip_grad_norm_(net.parameters(), 1.0)
            adam.step()
            rate.step()
            all_, of = all_ + float(mean.detach() * seconds), of + float(seconds)
        print(f"epoch {epoch + 1} of {EPOCHS}: loss a second {all_ / of:.4f}", file=sys.stderr, flush=True)
    return net.eval()


def told_share(net, stops, scale):
    odds, capsized = [], []
    with torch.no_grad():
        for told, truth, counts in batches(stops, scale):
            odds.append(net(told)[counts > 0].numpy())
            capsized.append(truth[counts > 0].numpy() > 0.5)
    odds, capsized = np.concatenate(odds), np.concatenate(capsized)
    return (odds[capsized] > np.quantile(odds[~capsized], 0.99)).mean()


def whole(tensor):
    return np.clip(np.round(tensor.detach().numpy() * PART), -32768, 32767).astype(int).ravel()


def numbers(name, values):
    lines = [", ".join(map(str, values[at : at + 192])) for at in range(0, len(values), 192)]
    return f"        {name}: &parts([\n            " + ",\n            ".join(lines) + ",\n        ]),\n"


def layer(name, weights, bias):
    inner = numbers("weights", whole(weights.T)) + numbers("bias", whole(bias))
    return f"    {name}: Layer {{\n{inner}    }},\n"


def print_net(net, scale):
    print("//! The weights of the net over seconds. Written by `tests/examples/weigh_signs/seconds.py`, which fits them on the")
    print("//! fitting season; not to be changed by hand.\n")
    print("use super::super::seconds::{Layer, Net, Scaled, parts};\n")
    print("/// Where no heel is told, or none to be believed.\n#[rustfmt::skip]\npub(crate) static NET: Net = Net {")
    print("    inputs: &[")
    for low, high, mean, deviation in zip(*scale.ends.tolist(), scale.mean.tolist(), scale.deviation.tolist()):
        print(f"        Scaled {{ ends: ({low:.4f}, {high:.4f}), usual: ({mean:.4f}, {deviation:.4f}) }},")
    print(f"    ],\n    unknown: &[{', '.join(map(str, scale.unknown))}],")
    memory = net.memory
    print(layer("enter", net.enter.weight, net.enter.bias), end="")
    print(layer("gates", memory.weight_ih_l0, memory.bias_ih_l0), end="")
    print(layer("memory", memory.weight_hh_l0, memory.bias_hh_l0), end="")
    print(layer("say", net.say.weight, net.say.bias), end="")
    print("};")


def print_check(net, scale, piece):
    """Some seconds of a stop and what PyTorch says of them with the weights as printed."""
    for weights in net.parameters():
        weights.data = torch.from_numpy(whole(weights).reshape(weights.shape) / PART).float()
    piece = piece[:60:3]
    whole_ = scale.whole(scale(piece[:, :INPUTS]), piece[:, STOPPED] > 0.5)
    with torch.no_grad():
        says = net(torch.from_numpy(whole_)[None])[0].tolist()
    print("\n/// Seconds, whether she had lost her way, and the ln odds that PyTorch 2.15.0 gives.")
    print("#[cfg(test)]\n#[rustfmt::skip]\npub(crate) const CHECK: &[(&[f32], bool, f64)] = &[")
    for second, said in zip(piece, says):
        values = ", ".join("f32::NAN" if np.isnan(value) else f"{value:.6g}_f32" for value in second[:INPUTS])
        print(f"    (&[{values}], {str(second[STOPPED] > 0.5).lower()}, {said:.5f}),")
    print("];")


def main():
    said = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    said.add_argument("dir", type=pathlib.Path)
    said.add_argument("--thirds", default="1,2,3", help="which thirds of the seeds, with commas between")
    said.add_argument("--chance", type=int, default=1, help="where chance begins")
    said.add_argument("--even", type=float, default=0.0, help="1: every stop counts alike; 0: every second")
    said.add_argument("--without", default="", help="waters to leave out, with commas between")
    said.add_argument("--threads", type=int, default=2, help="one fit on each core beats one on both")
    said = said.parse_args()
    without = [water for water in said.without.split(",") if water]
    torch.set_num_threads(said.threads)
    torch.manual_seed(said.chance)
    paths = [path for third in said.thirds.split(",") for path in sorted(said.dir.glob(f"*-{third}.seconds"))]
    paths = [path for path in paths if path.stat().st_size > 0]
    water_of = {path: path.stem.split("-")[0] for path in paths}
    seen = [path for path in paths if water_of[path] not in without]
    scale = Scale(np.concatenate([piece for path in seen for piece in itertools.islice(pieces_of(path), 0, None, 20)]))
    shown = min((piece for piece in pieces_of(seen[0])), key=lambda piece: abs(len(piece) - 90))
    known, unknown = [], {}
    for path in paths:
        stops = [Stop(scale, piece) for piece in pieces_of(path)]
        print(f"{path.stem}: {len(stops)} stops, {sum(map(len, stops))} seconds", file=sys.stderr, flush=True)
        if water_of[path] in without:
            unknown.setdefault(water_of[path], []).extend(stops)
        else:
            known += stops
    net = fit(known, scale, np.random.default_rng(said.chance), said.even)
    for water, stops in unknown.items():
        print(f"{water}: {told_share(net, stops, scale):.3f}", file=sys.stderr)
    print_net(net, scale)
    print_check(net, scale, shown)


if __name__ == "__main__":
    main()
