"""Variation of training crops on the device: geometry, colours by class, backgrounds, light, camera, hints.

Tensors are (n, 3, h, w) sRGB in [0, 1] and (n, 6, h, w) soft classes; colours are CIELAB (D65). Declared
colours travel as (n, SLOTS, 3) with NaN for an empty slot.
"""

from __future__ import annotations

import math

import torch
from torch import Tensor
from torch.nn import functional

SLOTS = 4
_TO_XYZ = torch.tensor(
    [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]]
)
_WHITE = torch.tensor([0.95047, 1.0, 1.08883])


def to_linear(srgb: Tensor) -> Tensor:
    return torch.where(srgb <= 0.04045, srgb / 12.92, ((srgb.clamp_min(0) + 0.055) / 1.055) ** 2.4)


def to_srgb(linear: Tensor) -> Tensor:
    linear = linear.clamp(0, 1)
    return torch.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear.clamp_min(1e-8) ** (1 / 2.4) - 0.055)


def srgb_to_lab(srgb: Tensor) -> Tensor:
    """(n, 3, ...) sRGB to (n, 3, ...) CIELAB (IEC 61966-2-1, CIE 15)."""
    xyz = torch.einsum("ij,nj...->ni...", _TO_XYZ.to(srgb), to_linear(srgb))
    scaled = xyz / _WHITE.to(srgb).view(1, 3, *([1] * (srgb.dim() - 2)))
    f = torch.where(scaled > 0.008856452, scaled.clamp_min(1e-6) ** (1 / 3), scaled * 7.787037 + 16 / 116)
    return torch.stack((116 * f[:, 1] - 16, 500 * (f[:, 0] - f[:, 1]), 200 * (f[:, 1] - f[:, 2])), 1)


def lab_to_srgb(lab: Tensor) -> Tensor:
    fy = (lab[:, 0] + 16) / 116
    f = torch.stack((fy + lab[:, 1] / 500, fy, fy - lab[:, 2] / 200), 1)
    xyz = torch.where(f > 6 / 29, f**3, (f - 16 / 116) / 7.787037) * _WHITE.to(lab).view(1, 3, *([1] * (lab.dim() - 2)))
    return to_srgb(torch.einsum("ij,nj...->ni...", torch.linalg.inv(_TO_XYZ).to(lab), xyz))


def _uniform(n: int, low: float, high: float, device: torch.device) -> Tensor:
    return torch.rand(n, device=device) * (high - low) + low


def _chance(n: int, share: float, device: torch.device) -> Tensor:
    return torch.rand(n, device=device) < share


def _smooth(n: int, height: int, width: int, cells: int, device: torch.device) -> Tensor:
    grid = torch.rand(n, 1, cells, cells, device=device)
    return functional.interpolate(grid, (height, width), mode="bicubic", align_corners=False).clamp(0, 1)


def crop(pixels: Tensor, classes: Tensor, size: int, zoom: Tensor) -> tuple[Tensor, Tensor]:
    """Rotated, sheared, flipped, scaled crops; ``zoom`` is output pixels per working pixel of the source."""
    n, _, height, width = pixels.shape
    device = pixels.device
    angle = _uniform(n, -math.pi, math.pi, device) * torch.where(_chance(n, 0.25, device), 1.0, 0.12)
    flip = torch.where(_chance(n, 0.5, device), -1.0, 1.0)
    aspect = torch.exp(_uniform(n, -0.25, 0.25, device))
    shear = _uniform(n, -0.2, 0.2, device)
    half_w, half_h = size / zoom / width, size / zoom / height
    cos, sin = torch.cos(angle), torch.sin(angle)
    a, b = cos * flip * aspect, -sin + shear
    c, d = sin * flip * aspect, cos
    reach_x, reach_y = (1 - half_w).clamp_min(0), (1 - half_h).clamp_min(0)
    cx, cy = _uniform(n, -1, 1, device) * reach_x, _uniform(n, -1, 1, device) * reach_y
    theta = torch.stack((torch.stack((a * half_w, b * half_w, cx), 1), torch.stack((c * half_h, d * half_h, cy), 1)), 1)
    grid = functional.affine_grid(theta, [n, 3, size, size], align_corners=False)
    picture = functional.grid_sample(pixels, grid, mode="bilinear", padding_mode="reflection", align_corners=False)
    kinds = functional.grid_sample(classes, grid, mode="bilinear", padding_mode="reflection", align_corners=False)
    return picture, kinds / kinds.sum(1, keepdim=True).clamp_min(1e-4)


def _turn(lab: Tensor, mask: Tensor | None, angle: Tensor, chroma: Tensor, light: Tensor, shift: Tensor) -> Tensor:
    """Rotate and stretch a* b*, scale and shift L*; (n, 3, ...) with one setting a sample."""
    view = (-1, *([1] * (lab.dim() - 2)))
    cos, sin = (torch.cos(angle) * chroma).view(view), (torch.sin(angle) * chroma).view(view)
    lightness = (lab[:, 0] * light.view(view) + shift.view(view)).clamp(0, 100)
    turned = torch.stack((lightness, cos * lab[:, 1] - sin * lab[:, 2], sin * lab[:, 1] + cos * lab[:, 2]), 1)
    return turned if mask is None else lab + mask * (turned - lab)


def recolour(pixels: Tensor, classes: Tensor, bloom: Tensor, foliage: Tensor) -> tuple[Tensor, Tensor, Tensor]:
    """Move bloom and leaf colours apart from each other by class; the declared colours move along."""
    n, device = len(pixels), pixels.device
    lab = srgb_to_lab(pixels)
    mask = classes[:, 2:3]
    mean = (lab * mask).sum((2, 3)) / mask.sum((2, 3)).clamp_min(1.0)
    hue, chroma = torch.atan2(mean[:, 2], mean[:, 1]), mean[:, 1:].norm(dim=1).clamp_min(1)
    on = _chance(n, 0.6, device).float()
    white = _chance(n, 0.2, device)
    wanted_hue = torch.deg2rad(_uniform(n, -100, 103, device))
    stretch = torch.where(white, 5 / chroma, (_uniform(n, 15, 75, device) / chroma).clamp(0.3, 3))
    lift = torch.where(white, (88 - mean[:, 0]).clamp_min(0), _uniform(n, -18, 18, device)) * on
    angle, stretch = (wanted_hue - hue) * on, stretch * on + 1 - on
    ones = torch.ones_like(on)
    lab = _turn(lab, mask, angle, stretch, ones, lift)
    bloom = _turn(bloom.transpose(1, 2), None, angle, stretch, ones, lift).transpose(1, 2)
    leaf_on = _chance(n, 0.35, device).float()
    dark = _chance(n, 0.2, device)
    leaf_angle = torch.where(dark, _uniform(n, -2.2, -1.2, device), _uniform(n, -0.45, 0.35, device)) * leaf_on
    leaf_stretch = (
        torch.where(dark, _uniform(n, 0.5, 1.0, device), _uniform(n, 0.25, 1.4, device)) * leaf_on + 1 - leaf_on
    )
    leaf_light = (
        torch.where(dark, _uniform(n, 0.5, 0.9, device), _uniform(n, 0.75, 1.35, device)) * leaf_on + 1 - leaf_on
    )
    none = torch.zeros_like(on)
    lab = _turn(lab, classes[:, 1:2], leaf_angle, leaf_stretch, leaf_light, none)
    foliage = _turn(foliage.transpose(1, 2), None, leaf_angle, leaf_stretch, leaf_light, none).transpose(1, 2)
    return lab_to_srgb(lab), bloom, foliage


def close_gaps(pixels: Tensor, classes: Tensor) -> tuple[Tensor, Tensor]:
    """In some samples turn enclosed holes in the plant into dark inner foliage."""
    n, device = len(pixels), pixels.device
    plant = classes[:, 1:4].sum(1, keepdim=True)
    coarse = plant.reshape(n, 1, plant.shape[2] // 8, 8, plant.shape[3] // 8, 8).mean((3, 5))
    around = functional.avg_pool2d(coarse, 5, 1, 2, count_include_pad=False)
    around = functional.interpolate(around, plant.shape[2:], mode="bilinear", align_corners=False)
    on = _chance(n, 0.2, device).float().view(n, 1, 1, 1)
    hole = ((around > 0.7).float() * (1 - plant) * on * (1 - classes[:, 5:6])).clamp(0, 1)
    leaf = (pixels * classes[:, 1:2]).sum((2, 3), keepdim=True) / classes[:, 1:2].sum((2, 3), keepdim=True).clamp_min(1)
    tone = (
        leaf
        * _uniform(n, 0.08, 0.4, device).view(n, 1, 1, 1)
        * (0.6 + 0.8 * _smooth(n, pixels.shape[2], pixels.shape[3], 24, device))
    )
    foliage = torch.zeros_like(classes)
    foliage[:, 1] = 1
    return pixels + hole * (tone - pixels), classes + hole * (foliage - classes)


def change_background(pixels: Tensor, classes: Tensor, backdrop: Tensor, share: float = 0.35) -> tuple[Tensor, Tensor]:
    """In some samples put ``backdrop`` (n, 3, h, w) where background is, in half of those also over the planter."""
    n, device = len(pixels), pixels.device
    on = _chance(n, share, device).float().view(n, 1, 1, 1)
    planter_too = _chance(n, 0.4, device).float().view(n, 1, 1, 1)
    mask = on * (classes[:, 0:1] + planter_too * classes[:, 4:5])
    backdrop_classes = torch.zeros_like(classes)
    backdrop_classes[:, 0] = 1
    keep = 1 - on * planter_too * classes[:, 4:5]
    return pixels + mask * (backdrop - pixels), classes * keep + (1 - keep) * backdrop_classes


def paste_neighbour(pixels: Tensor, classes: Tensor, share: float = 0.12) -> tuple[Tensor, Tensor]:
    """In some samples paste the next sample's plants over this one."""
    n, device = len(pixels), pixels.device
    plant = classes.roll(1, 0)[:, 1:4].sum(1, keepdim=True) * _chance(n, share, device).float().view(n, 1, 1, 1)
    return pixels + plant * (pixels.roll(1, 0) - pixels), classes + plant * (classes.roll(1, 0) - classes)


def light_and_camera(pixels: Tensor) -> Tensor:
    """White balance, exposure, uneven light, contrast, saturation, blur, noise, lost resolution, JPEG."""
    n, _, height, width = pixels.shape
    device = pixels.device
    per = (n, 1, 1, 1)
    strong = torch.where(_chance(n, 0.5, device), 1.0, 0.4)
    gain = torch.exp(torch.randn(n, 3, device=device) * 0.16 * strong[:, None]).view(n, 3, 1, 1)
    exposure = torch.exp2(torch.randn(n, device=device) * 0.6 * strong).view(per)
    linear = to_linear(pixels.clamp(0, 1)) * gain * exposure
    patchy = _chance(n, 0.3, device).float().view(per)
    field = _smooth(n, height, width, 5, device)
    linear = linear * (1 - patchy * _uniform(n, 0, 0.7, device).view(per) * field)
    haze = (_chance(n, 0.15, device).float() * _uniform(n, 0, 0.12, device)).view(per)
    out = to_srgb(linear * (1 - haze) + haze).clamp(1e-4, 1)
    out = out ** torch.exp(torch.randn(n, device=device) * 0.18 * strong).view(per)
    curve = out * out * (3 - 2 * out)
    out = out + _uniform(n, -0.4, 0.7, device).view(per) * strong.view(per) * (curve - out)
    grey = out.mean(1, keepdim=True)
    out = (grey + (out - grey) * torch.exp(torch.randn(n, device=device) * 0.22 * strong).view(per)).clamp(0, 1)
    out = _blur(out)
    grain = torch.randn_like(out) + torch.randn(n, 1, height, width, device=device)
    out = out + grain * (_uniform(n, 0, 1, device) ** 3 * 0.06).view(per)
    return _jpeg(out.clamp(0, 1), _chance(n, 0.6, device))


def _blur(pixels: Tensor) -> Tensor:
    """Each sample gets one of a few kernels: none, Gaussians, a motion streak, or a sharpening."""
    n, device = len(pixels), pixels.device
    reach = torch.arange(-4, 5, device=device).float()
    y, x = torch.meshgrid(reach, reach, indexing="ij")
    sigma = (0.25 + 1.9 * torch.rand(n, device=device) ** 3).view(n, 1, 1)
    squeeze = torch.where(_chance(n, 0.15, device), 0.25, 1.0).view(n, 1, 1)
    angle = _uniform(n, 0, math.pi, device).view(n, 1, 1)
    along, across = x * torch.cos(angle) + y * torch.sin(angle), y * torch.cos(angle) - x * torch.sin(angle)
    kernel = torch.exp(-0.5 * ((along / sigma) ** 2 + (across / (sigma * squeeze)) ** 2))
    kernel = kernel / kernel.sum((1, 2), keepdim=True)
    sharp = (_chance(n, 0.25, device).float() * _uniform(n, 0, 1.2, device)).view(n, 1, 1)
    centre = ((x == 0) & (y == 0)).float()
    kernel = kernel + sharp * (centre - kernel)
    weight = kernel.repeat_interleave(3, 0).unsqueeze(1)
    flat = functional.pad(pixels, (4, 4, 4, 4), mode="replicate").reshape(1, n * 3, *(s + 8 for s in pixels.shape[2:]))
    return functional.conv2d(flat, weight, groups=n * 3).reshape(pixels.shape)


_LUMA_TABLE = torch.tensor(
    [
        [16, 11, 10, 16, 24, 40, 51, 61],
        [12, 12, 14, 19, 26, 58, 60, 55],
        [14, 13, 16, 24, 40, 57, 69, 56],
        [14, 17, 22, 29, 51, 87, 80, 62],
        [18, 22, 37, 56, 68, 109, 103, 77],
        [24, 35, 55, 64, 81, 104, 113, 92],
        [49, 64, 78, 87, 103, 121, 120, 101],
        [72, 92, 95, 98, 112, 100, 103, 99],
    ]
)  # fmt: skip


def _jpeg(pixels: Tensor, on: Tensor) -> Tensor:
    """Quantise 8 x 8 cosine blocks by the example table of ITU-T T.81, chroma three times as coarsely."""
    n, _, height, width = pixels.shape
    device = pixels.device
    i = torch.arange(8, device=device).float()
    basis = torch.cos(math.pi / 8 * (i[None] + 0.5) * i[:, None]) * 0.5
    basis[0] *= math.sqrt(0.5)
    luma = pixels.mean(1, keepdim=True)
    planes = torch.cat((luma, pixels[:, 0:1] - luma, pixels[:, 2:3] - luma), 1) * 255
    blocks = planes.reshape(n, 3, height // 8, 8, width // 8, 8).permute(0, 1, 2, 4, 3, 5)
    table = _LUMA_TABLE.to(device).float().view(1, 1, 1, 1, 8, 8) * torch.tensor([1.0, 2.0, 2.0], device=device).view(
        1, 3, 1, 1, 1, 1
    )
    table = table * _uniform(n, 0.05, 0.8, device).view(n, 1, 1, 1, 1, 1)
    coefficients = basis @ blocks @ basis.T
    restored = basis.T @ (torch.round(coefficients / table) * table) @ basis
    planes = restored.permute(0, 1, 2, 4, 3, 5).reshape(n, 3, height, width) / 255
    red, blue = planes[:, 1] + planes[:, 0], planes[:, 2] + planes[:, 0]
    decoded = torch.stack((red, 3 * planes[:, 0] - red - blue, blue), 1).clamp(0, 1)
    return torch.where(on.view(n, 1, 1, 1), decoded, pixels)


def jitter_declared(colours: Tensor, told: float) -> Tensor:
    """Declared colours as a person would give them: a little off, sometimes another plant's, often not at all."""
    n, device = len(colours), colours.device
    wrong = _chance(n, 0.04, device).view(n, 1, 1)
    colours = torch.where(wrong, colours.roll(1, 0), colours)
    turned = _turn(
        colours.transpose(1, 2),
        None,
        torch.randn(n, device=device) * 0.1,
        torch.exp(torch.randn(n, device=device) * 0.15),
        torch.ones(n, device=device),
        torch.randn(n, device=device) * 5,
    ).transpose(1, 2)
    return torch.where(_chance(n, told, device).view(n, 1, 1), turned, torch.full_like(turned, math.nan))


def hints(lab: Tensor, colours: Tensor) -> Tensor:
    """(n, 3, h, w): chroma distance / 40 and lightness difference / 50 to the nearest colour, and a flag."""
    best = torch.full_like(lab[:, 0], 1e9)
    chroma, light = torch.zeros_like(best), torch.zeros_like(best)
    for slot in range(colours.shape[1]):
        delta = lab - colours[:, slot, :, None, None]
        squared = delta[:, 1] ** 2 + delta[:, 2] ** 2
        distance = squared + 0.25 * delta[:, 0] ** 2
        nearer = distance < best
        best = torch.where(nearer, distance, best)
        chroma = torch.where(nearer, squared.sqrt(), chroma)
        light = torch.where(nearer, delta[:, 0], light)
    told = torch.isfinite(colours).any(2).any(1).float().view(-1, 1, 1).expand_as(chroma)
    return torch.stack(((chroma / 40).clamp(0, 3) * told, light / 50 * told, told), 1)


def network_input(pixels: Tensor, bloom: Tensor, foliage: Tensor) -> Tensor:
    lab = srgb_to_lab(pixels)
    return torch.cat(((pixels * 255 - 127) / 128, hints(lab, bloom), hints(lab, foliage)), 1)
