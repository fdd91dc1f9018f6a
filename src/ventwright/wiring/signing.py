"""Keys and certificates: made, signed, read. The one module that needs `cryptography`."""

from __future__ import annotations

import ipaddress
from dataclasses import dataclass
from datetime import datetime

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

Network = ipaddress.IPv4Network | ipaddress.IPv6Network
_FOR_SERVERS = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH])


@dataclass(frozen=True, slots=True, kw_only=True)
class Signed:
    """A key with the certificate made for it."""

    key: ec.EllipticCurvePrivateKey
    certificate: x509.Certificate

    def pem(self) -> bytes:
        """Key and certificate as one file, so that neither is ever found without the other."""
        key = self.key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )
        return key + self.certificate.public_bytes(serialization.Encoding.PEM)

    def der(self) -> bytes:
        """The certificate alone, as phones take it in."""
        return self.certificate.public_bytes(serialization.Encoding.DER)

    def name(self) -> str:
        """What the certificate is called where it is listed."""
        return str(self.certificate.subject.get_attributes_for_oid(NameOID.COMMON_NAME)[0].value)


def make_authority(
    name: str,
    *,
    networks: tuple[Network, ...],
    domains: tuple[str, ...],
    from_time: datetime,
    to_time: datetime,
) -> Signed:
    """Make an authority that can sign servers in these networks and domains, and nothing else.

    Parameters
    ----------
    name
        What it is called on a phone.
    networks, domains
        What it may sign for.
    from_time, to_time
        Its life.
    """
    key = ec.generate_private_key(ec.SECP256R1())
    permitted = [x509.DNSName(domain) for domain in domains]
    places = [x509.IPAddress(network) for network in networks]
    builder = (
        _builder(key, name=name, issuer=name, from_time=from_time, to_time=to_time)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(is_authority=True), critical=True)
        .add_extension(
            x509.NameConstraints(permitted_subtrees=[*permitted, *places], excluded_subtrees=None),
            critical=True,
        )
    )
    return Signed(key=key, certificate=builder.sign(key, hashes.SHA256()))


def make_server(
    authority: Signed, *, names: tuple[str, ...], from_time: datetime, to_time: datetime
) -> Signed:
    """Make a server certificate.

    Parameters
    ----------
    authority
        What signs it.
    names
        Names and addresses of the server.
    from_time, to_time
        Its life.
    """
    key = ec.generate_private_key(ec.SECP256R1())
    issuer = authority.certificate
    builder = (
        _builder(
            key, name="Ventwright", issuer=authority.name(), from_time=from_time, to_time=to_time
        )
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(is_authority=False), critical=True)
        .add_extension(
            x509.SubjectAlternativeName([_general(name) for name in names]), critical=False
        )
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(
                issuer.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
            ),
            critical=False,
        )
    )
    return Signed(key=key, certificate=builder.sign(authority.key, hashes.SHA256()))


def read_signed(pem: bytes) -> Signed | None:
    """Read what `Signed.pem` wrote; None for anything else.

    Parameters
    ----------
    pem
        Content of a file.
    """
    try:
        key = serialization.load_pem_private_key(pem, None)
        certificate = x509.load_pem_x509_certificate(pem)
    except (ValueError, TypeError):
        return None
    if not isinstance(key, ec.EllipticCurvePrivateKey):
        return None
    is_its_own = key.public_key() == certificate.public_key()
    return Signed(key=key, certificate=certificate) if is_its_own else None


def names_of(certificate: x509.Certificate) -> tuple[str, ...]:
    """Names and addresses a server certificate is for.

    Parameters
    ----------
    certificate
        The certificate.
    """
    found = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return tuple(str(one.value) for one in found)


def is_signed_by(certificate: x509.Certificate, authority: x509.Certificate) -> bool:
    """Tell whether an authority signed a certificate.

    Parameters
    ----------
    certificate, authority
        The two.
    """
    try:
        certificate.verify_directly_issued_by(authority)
    except (ValueError, TypeError, InvalidSignature):
        return False
    return True


def _builder(
    key: ec.EllipticCurvePrivateKey,
    *,
    name: str,
    issuer: str,
    from_time: datetime,
    to_time: datetime,
) -> x509.CertificateBuilder:
    public = key.public_key()
    return (
        x509.CertificateBuilder()
        .subject_name(_called(name))
        .issuer_name(_called(issuer))
        .public_key(public)
        .serial_number(x509.random_serial_number())
        .not_valid_before(from_time)
        .not_valid_after(to_time)
        .add_extension(_FOR_SERVERS, critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(public), critical=False)
    )


def _called(name: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])


def _general(name: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        return x509.DNSName(name)


def _usage(*, is_authority: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not is_authority,
        key_cert_sign=is_authority,
        crl_sign=is_authority,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )
